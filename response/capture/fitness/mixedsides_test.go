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
// the first order at 700 Hz: what players add for headphones.
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

func mono(x [][]float64) [][]float64 {
	mean := make([]float64, len(x[0]))
	for i := range mean {
		mean[i] = (x[0][i] + x[1][i]) / 2
	}
	return [][]float64{mean, slices.Clone(mean)}
}

// A timing mark plays on both sides, so where these are mixed it differs from the sweep of one side
// by up to 6 dB. The mix is told, and no gain that follows the level.
func TestMixedSidesAreNoLevelControl(t *testing.T) {
	s, err := sweep.New(sweep.Config{Start: 20, Duration: 4 * time.Second, SampleRate: 48000, Level: -12})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: time.Second, Gap: 500 * time.Millisecond})
	require.NoError(t, err)
	pair, _, r := rig.Demonstration()
	for _, c := range []struct {
		name string
		mix  func([][]float64) [][]float64
		kind response.FindingKind
	}{{"crossfeed", crossfeed, fitness.MixedSides}, {"mono", mono, fitness.CopiedChannel}} {
		var set fitness.Set
		for i, x := range [][][]float64{r.Direct(st.Channels()), r.Through(pair, 0, st.Channels()), r.Through(pair, 1, st.Channels())} {
			p, err := placement.Locate(&capture.Recording{Name: c.name, SampleRate: 48000, Channels: c.mix(x)}, st)
			require.NoError(t, err)
			report := set.Inspect(p, fitness.Config{Direct: i == 0})
			assert.NotEmpty(t, report.Of(c.kind), "%s, recording %d", c.name, i)
			assert.Empty(t, report.Of(fitness.LevelControl), "%s, recording %d", c.name, i)
		}
	}
}
