package placement_test

import (
	"example.com/earnest/internal/testing/long"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// levelsOf returns the third-octave levels of the average of a take.
func levelsOf(t *testing.T, st *sweep.Stimulus, take *placement.Take) []float64 {
	d, err := response.NewDeconvolver(st.Sweep(), response.DeconvolverConfig{Longest: placement.TakeDuration(st)})
	require.NoError(t, err)
	mean, rejected := take.Average()
	assert.Empty(t, rejected)
	h, err := d.Impulse(mean)
	require.NoError(t, err)
	window, err := h.Window(0, 0)
	require.NoError(t, err)
	curve, err := window.Transfer().Smoothed(response.LogGrid(40, 6300, 3), 3)
	require.NoError(t, err)
	return curve.Level
}

// Many repeats on another clock move by more than the width of a match: 100 ppm of 50 s are 5 ms.
func TestManyRepeatsOnAnotherClock(t *testing.T) {
	long.Skip(t)
	for _, c := range []struct {
		name     string
		repeats  int
		sweep    time.Duration
		drift    float64
		unmarked bool
		cut      float64 // s left out at the end
	}{
		{"as far as 16 of 12 s at 20 ppm", 32, time.Second, 100, false, 0},
		{"three times as far as crystals", 16, time.Second, -290, false, 0},
		{"without marks", 16, time.Second, 100, true, 0},
		{"without the closing mark", 16, time.Second, -60, false, 0.6},
		{"long sweeps", 3, 8 * time.Second, 100, false, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, err := sweep.New(sweep.Config{Duration: c.sweep, Level: -12, SampleRate: 16000})
			require.NoError(t, err)
			st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: 500 * time.Millisecond, Gap: 300 * time.Millisecond,
				Repeats: c.repeats, Unmarked: c.unmarked})
			require.NoError(t, err)
			locate := func(drift float64) *placement.Placement {
				x := rig.Rig{SampleRate: 16000, Latency: 700, Drift: drift}.Direct(st.Channels())
				random := rand.New(rand.NewPCG(1, 2))
				for k := range x {
					x[k] = x[k][:len(x[k])-int(c.cut*16000)]
					for i := range x[k] {
						x[k][i] += 3e-5 * random.NormFloat64() // 75 dB below the sweep
					}
				}
				p, err := placement.Locate(&capture.Recording{Name: "direct.wav", SampleRate: 16000, Channels: x}, st)
				require.NoError(t, err)
				return p
			}
			same, other := locate(0), locate(c.drift)
			plays, err := other.Plays()
			require.NoError(t, err)
			assert.Len(t, plays, 1)
			assert.True(t, plays[0].Whole())
			for k, side := range []sweep.Side{sweep.Left, sweep.Right} {
				clock, err := other.Clock(k+1, side)
				require.NoError(t, err)
				assert.InDelta(t, c.drift, clock.Drift, 0.5, "ppm; as asked for in TestClockDrift")
				want, err := same.Take(k+1, side)
				require.NoError(t, err)
				got, err := other.CorrectDrift(clock).Take(k+1, side)
				require.NoError(t, err)
				assert.InDeltaSlice(t, levelsOf(t, st, want), levelsOf(t, st, got), 0.01, "dB of the same on one clock: the figure asked for")
			}
		})
	}
}
