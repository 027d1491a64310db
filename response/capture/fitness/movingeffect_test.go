package fitness_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// chorus adds to x itself at a share, later by a delay in samples that swings by reach at a rate in
// Hz.
func chorus(x []float64, later, reach, rate, share float64) []float64 {
	out := make([]float64, len(x))
	for i := range x {
		at := float64(i) - later - reach*math.Sin(2*math.Pi*rate*float64(i)/48000)
		out[i] = x[i]
		if k := int(math.Floor(at)); k >= 0 && k+1 < len(x) {
			f := at - float64(k)
			out[i] += share * ((1-f)*x[k] + f*x[k+1])
		}
	}
	return out
}

// An effect that adds the sound to itself at a delay that moves is a comb that moves. The timing mark
// is heard through another one than the sweep, and neither missing samples nor a gain that follows
// the level explain that. It moves the response by up to 1/(1 − share), or 20 dB.
func TestEffectsThatMoveTheSound(t *testing.T) {
	s, err := sweep.New(sweep.Config{Start: 20, Duration: 3 * time.Second, SampleRate: 48000, Level: -12})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: time.Second, Gap: 500 * time.Millisecond})
	require.NoError(t, err)
	pair, _, r := rig.Demonstration()
	sound := r.Through(pair, 0, st.Channels())
	random := rand.New(rand.NewPCG(14, 2))
	between := func(low, high float64) float64 { return low + (high-low)*random.Float64() }
	inspect := func(name string, x [][]float64) *fitness.Report {
		p, err := placement.Locate(&capture.Recording{Name: name, SampleRate: 48000, Channels: x}, st)
		require.NoError(t, err)
		return fitness.Inspect(p, fitness.Config{})
	}
	assert.Empty(t, inspect("sound", sound).Of(fitness.Wow))
	for range 6 {
		reach, rate, share := between(15, 100), between(0.1, 3), between(0.2, 0.9)
		later := reach + between(50, 300)
		name := fmt.Sprintf("%.0f samples later, by %.0f, %.1f Hz, share %.2f", later, reach, rate, share)
		report := inspect(name, [][]float64{chorus(sound[0], later, reach, rate, share), chorus(sound[1], later, reach, rate, share)})
		named := append(report.Of(fitness.Wow), report.Of(fitness.Echo)...)
		assert.NotEmpty(t, named, "%s: %v", name, report.Findings)
	}
}
