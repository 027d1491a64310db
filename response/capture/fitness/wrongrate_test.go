package fitness_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/interpolate"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/sweep"
)

// A clock that is off by far more than crystals moves the last repeats of a sweep out of reach. It
// is named with its figure, and nothing else is: neither another stimulus nor lost samples.
func TestManyRepeatsOnAWrongClock(t *testing.T) {
	race.Skip(t)
	for _, repeats := range []int{3, 16} {
		for _, drift := range []float64{2000, -2000, 5000, -9000} {
			if !long.Enabled() && (drift != 2000 || repeats != 3) {
				continue
			}
			s, err := sweep.New(sweep.Config{Duration: 4 * time.Second, Level: -12, SampleRate: 16000})
			require.NoError(t, err)
			st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: 500 * time.Millisecond, Gap: 500 * time.Millisecond, Repeats: repeats})
			require.NoError(t, err)
			driver := rig.Driver{Filters: []rig.Filter{rig.HighPass(25, 0.7), rig.Peak(3000, 2, 5)}}
			pair := rig.Headphones{Name: "invented", Left: driver, Right: driver}
			x := rig.Rig{SampleRate: 16000, Latency: 700, Noise: rig.Noise{Level: -80}}.Through(pair, 0, st.Channels())
			table := interpolate.NewTable(16, 512, 8)
			for k := range x {
				y := make([]float64, int(float64(len(x[k]))*(1+drift*1e-6)))
				for i := range y {
					y[i] = table.Linear(x[k], float64(i)/(1+drift*1e-6))
				}
				x[k] = y
			}
			r := &capture.Recording{Name: "through.wav", SampleRate: 16000, Format: capture.Format{Bits: 24}, Channels: x}
			found := inspected(r, said{Stimulus: st}).AtLeast(response.Warning)
			if assert.Len(t, found, 1, "%d repeats, %v parts per million", repeats, drift) {
				assert.Equal(t, fitness.WrongRate, found[0].Kind)
				assert.InDelta(t, drift, found[0].Figures["drift"].Value, 35, "half a hertz of 16 kHz is 31 parts per million")
			}
		}
	}
}

// Samples that are lost between repeats are no clock that is off.
func TestLostSamplesBetweenRepeatsAreNoWrongClock(t *testing.T) {
	race.Skip(t)
	s, err := sweep.New(sweep.Config{Duration: 2 * time.Second, Level: -12, SampleRate: 16000})
	require.NoError(t, err)
	for _, repeats := range []int{3, 2, 5} {
		if !long.Enabled() && repeats != 3 {
			continue
		}
		st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: 500 * time.Millisecond, Gap: 500 * time.Millisecond, Repeats: repeats})
		require.NoError(t, err)
		for k := range 2 * repeats {
			at := slices.Concat(st.Sweeps(sweep.Left), st.Sweeps(sweep.Right))[k].Start + 9000
			x := rig.DropBlock(rig.Rig{SampleRate: 16000, Latency: 700, Noise: rig.Noise{Level: -80}}.Direct(st.Channels()), at, 100)
			r := &capture.Recording{Name: "direct.wav", SampleRate: 16000, Format: capture.Format{Bits: 24}, Channels: x}
			report := inspected(r, said{Stimulus: st})
			assert.Empty(t, report.Of(fitness.WrongRate), "%d repeats, lost in sweep %d", repeats, k+1)
			assert.NotEmpty(t, report.Of(fitness.DroppedSamples))
		}
	}
}
