package fitness_test

import (
	"example.com/earnest/internal/testing/long"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/sweep"
)

// The sounds of a long stimulus lie further from their places on another clock than its edges are
// long: 100 ppm of 5 min are 30 ms.
func TestManyRepeatsOnAnotherClock(t *testing.T) {
	long.Skip(t)
	s, err := sweep.New(sweep.Config{Duration: time.Second, Level: -12, SampleRate: 16000})
	require.NoError(t, err)
	for _, c := range []struct {
		name     string
		unmarked bool
		spoil    func(x [][]float64) [][]float64
		want     response.FindingKind
	}{
		{"sound", false, nil, ""},
		{"sound, without marks", true, nil, ""},
		{"half a second lost in the last repeat on the right", false, func(x [][]float64) [][]float64 {
			return rig.DropBlock(x, len(x[0])-5*16000, 8000)
		}, fitness.DroppedSamples},
		{"40 samples lost in a silence half-way", false, func(x [][]float64) [][]float64 {
			return rig.DropBlock(x, int(16000*(1.5+21*2+0.9+0.5+1.8)), 40)
		}, fitness.DroppedSamples},
	} {
		t.Run(c.name, func(t *testing.T) {
			st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: 500 * time.Millisecond, Gap: time.Second,
				Repeats: 40, Unmarked: c.unmarked})
			require.NoError(t, err)
			x := rig.Rig{SampleRate: 16000, Latency: 700, Drift: 100}.Direct(st.Channels())
			if c.spoil != nil {
				x = c.spoil(x)
			}
			random := rand.New(rand.NewPCG(1, 2))
			for k := range x {
				for i := range x[k] {
					x[k][i] += 3e-5 * random.NormFloat64() // 75 dB below the sweep
				}
			}
			report := inspected(&capture.Recording{Name: "direct.wav", SampleRate: 16000, Channels: x}, said{Stimulus: st, Direct: true})
			for _, f := range report.Findings {
				assert.True(t, c.want != "" || f.Severity < response.Warning, "%v", f)
			}
			if c.want != "" {
				require.NotEmpty(t, report.Findings)
				assert.Equal(t, c.want, report.Findings[0].Kind, "%v", report.Findings)
			}
		})
	}
}

// A block that is lost with the treble of one sweep is no cutoff.
func TestLostTrebleIsNoCutoff(t *testing.T) {
	race.Skip(t)
	s, err := sweep.New(sweep.Config{Duration: 2 * time.Second, Level: -12})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: 500 * time.Millisecond, Gap: 600 * time.Millisecond})
	require.NoError(t, err)
	x := rig.Rig{SampleRate: 48000, Latency: 700, Noise: rig.Noise{Level: -90}}.Direct(st.Channels())
	x = rig.DropBlock(x, st.Sweeps(sweep.Left)[0].Start+700+int(48000*s.TimeAt(9000)), 7000)
	report := inspected(&capture.Recording{Name: "through.wav", SampleRate: 48000, Channels: x}, said{Stimulus: st})
	require.NotEmpty(t, report.Findings)
	for _, f := range report.AtLeast(response.Warning) {
		assert.Contains(t, []response.FindingKind{fitness.DroppedSamples, fitness.LowLevel}, f.Kind, "%v", f)
	}
}
