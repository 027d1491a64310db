package fitness_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// crossfeed adds the other side to each, 6 dB below its own, 0.3 ms later, and behind a low pass of
// the first order at 700 Hz: as players do for headphones.
func crossfeed(x [][]float64) [][]float64 {
	pole, late := math.Exp(-2*math.Pi*700/48000), 14 // samples
	out := [][]float64{slices.Clone(x[0]), slices.Clone(x[1])}
	for k := range out {
		low := 0.0
		for i := late; i < len(out[k]); i++ {
			low = pole*low + (1-pole)*x[1-k][i-late]
			out[k][i] = 0.9*x[k][i] + 0.45*low
		}
	}
	return out
}

// louder adds the other side 2.2 dB above a side's own, 0.3 ms later, over the whole band: the marks,
// which are on both sides, are heard through a comb that the sweeps are not.
func louder(x [][]float64) [][]float64 { return blended(x, 0.7, 0.9, 14) }

// weak adds the other side as much below as mixedAbove, so that one side may lie above and one below.
func weak(x [][]float64) [][]float64 { return blended(x, 1, 0.11, 0) }

func blended(x [][]float64, own, other float64, late int) [][]float64 {
	out := [][]float64{make([]float64, len(x[0])), make([]float64, len(x[1]))}
	for k := range out {
		for i := range out[k] {
			out[k][i] = own * x[k][i]
			if i >= late {
				out[k][i] += other * x[1-k][i-late]
			}
		}
	}
	return out
}

func mono(x [][]float64) [][]float64 {
	mean := make([]float64, len(x[0]))
	for i := range mean {
		mean[i] = (x[0][i] + x[1][i]) / 2
	}
	return [][]float64{mean, slices.Clone(mean)}
}

// A timing mark plays on both sides, so where these are mixed it differs from the sweep of one side
// by up to 6 dB, and in delay. The finding is the mix. It is not a gain that follows the level, a
// wavering speed, or swapped sides.
func TestMixedSidesAreTheOnlyCause(t *testing.T) {
	s, err := sweep.New(sweep.Config{Start: 20, Duration: 4 * time.Second, SampleRate: 48000, Level: -12})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: time.Second, Gap: 500 * time.Millisecond})
	require.NoError(t, err)
	pair, _, r := rig.Demonstration()
	for _, c := range []struct {
		name  string
		mix   func([][]float64) [][]float64
		kind  response.FindingKind
		unfit bool
	}{
		{"crossfeed", crossfeed, fitness.MixedSides, false},
		{"louder than its own side", louder, fitness.MixedSides, true},
		{"weak", weak, fitness.MixedSides, false},
		{"mono", mono, fitness.CopiedChannel, true},
	} {
		var set fitness.Set
		played := st.Channels()
		for i, x := range [][][]float64{r.Direct(played), r.Through(pair, 0, played), r.Through(pair, 1, played)} {
			p, err := placement.Locate(&capture.Recording{Name: c.name, SampleRate: 48000, Channels: c.mix(x)}, st)
			require.NoError(t, err)
			report := set.Inspect(p, fitness.Config{Direct: i == 0})
			named := report.Of(c.kind)
			if c.name == "louder than its own side" { // mono, or nearly
				named = append(named, report.Of(fitness.CopiedChannel)...)
			}
			if assert.NotEmpty(t, named, "%s, recording %d", c.name, i) {
				assert.Equal(t, c.unfit, named[0].Severity == response.Unfit,
					"%s, recording %d: levels are off by decibels", c.name, i)
			}
			for _, k := range []response.FindingKind{
				fitness.LevelControl, fitness.Wow, fitness.DroppedSamples, fitness.SwappedSides} {
				assert.Empty(t, report.Of(k), "%s, recording %d", c.name, i)
			}
		}
	}
}
