package fitness_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/sweep"
)

// The sweep by its formula at t − A sin(2πrt), through filters: its speed wavers by 2πrA, and the
// response of that sweep shows the error. Filters with a phase of their own, minimum or not, do not
// count as wavering.
func TestSpeedThatWavers(t *testing.T) {
	long.Skip(t)
	const fs = 12000
	s, err := sweep.New(sweep.Config{Start: 40, Stop: 5300, Duration: 4 * time.Second, SampleRate: fs, Level: -12})
	require.NoError(t, err)
	stimulus, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s})
	require.NoError(t, err)
	deconvolver, err := response.NewDeconvolver(s, response.DeconvolverConfig{})
	require.NoError(t, err)
	peak := biquad.New(biquad.Peaking, 700, 4, 6, fs)
	// Second-order all-pass: the numerator is the reversed denominator.
	low := biquad.New(biquad.LowPass, 800, 0.7, 0, fs)
	turned := biquad.Filter{B0: low.A2, B1: low.A1, B2: 1, A1: low.A1, A2: low.A2}
	for _, c := range []struct {
		name     string
		filters  biquad.Chain
		speed    float64 // %
		rate     float64 // Hz
		noise    float64 // dBFS rms
		severity response.Severity
		found    bool
	}{
		{"steady", nil, 0, 1, -100, 0, false},
		{"steady, a peak", biquad.Chain{peak}, 0, 1, -100, 0, false},
		{"steady, all-pass", biquad.Chain{turned}, 0, 1, -100, 0, false},
		{"steady, in noise", biquad.Chain{peak}, 0, 1, -60, 0, false},
		{"by an amount that does not matter", biquad.Chain{peak}, 0.01, 4, -100, 0, false},
		{"a little", biquad.Chain{peak}, 0.1, 3, -80, response.Warning, true},
		{"so that it matters", biquad.Chain{peak}, 0.3, 5, -80, response.Unfit, true},
		{"slowly", biquad.Chain{turned}, 0.4, 1.3, -80, response.Unfit, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			random := rand.New(rand.NewPCG(1, 1))
			x := make([]float64, s.Len())
			for i := range x {
				at := float64(i) / fs
				at -= c.speed / 100 / (2 * math.Pi * c.rate) * math.Sin(2*math.Pi*c.rate*at)
				if at >= 0 {
					x[i] = s.Amplitude() * math.Sin(s.PhaseAt(at)) * min(1, 40*at, float64(s.Len()-1-i)/240)
				}
			}
			channels := stimulus.Channels()
			for k, side := range []sweep.Side{sweep.Left, sweep.Right} {
				copy(channels[k][stimulus.Sweeps(side)[0].Start:], x)
				c.filters.Apply(channels[k])
				for i := range channels[k] {
					channels[k][i] += math.Pow(10, c.noise/20) * random.NormFloat64()
				}
			}
			found := inspected(&capture.Recording{Name: "a.wav", SampleRate: fs, Channels: channels}, said{Stimulus: stimulus}).Of(fitness.Wow)
			if !c.found {
				assert.Empty(t, found)
				return
			}
			require.Len(t, found, 2)
			assert.Equal(t, c.severity, found[0].Severity, "%v", found[0])
			assert.InEpsilon(t, c.speed, found[0].Figures["speed"].Value, 0.05, "the window of 40 ms takes a little")
			assert.InDelta(t, c.rate, found[0].Figures["rate"].Value, 0.1, "half a step between the rates tried")
			off := wavered(t, deconvolver, x)
			assert.InEpsilon(t, off, found[0].Figures["error"].Value, 0.2, "dB; the quickest are smoothed by the bins of either")
		})
	}
}

// wavered returns the error in dB of the response from a wavering sweep, from 300 Hz to 2 kHz.
func wavered(t *testing.T, d *response.Deconvolver, x []float64) (most float64) {
	h, err := d.Impulse(x)
	require.NoError(t, err)
	transfer := h.WindowAt(0, 150*time.Millisecond, 150*time.Millisecond).Transfer()
	level := transfer.Magnitude().Level
	for i, f := range transfer.Frequencies() {
		if f > 300 && f < 2000 {
			most = max(most, math.Abs(level[i]))
		}
	}
	return most
}

// A copy whose delay moves by whole samples, there and back, as in many a phaser, is no loss of
// samples. A clock that slips loses one after the other.
func TestDelayThatMovesByWholeSamples(t *testing.T) {
	long.Skip(t)
	for _, c := range []struct {
		name string
		own  float64                   // share that is not late
		late func(seconds float64) int // samples
		cut  float64                   // Hz, or 0 if the treble is left in
		want response.FindingKind
	}{
		{"there and back", 1, func(s float64) int { return int(math.Round(40 + 25*math.Sin(2*math.Pi*0.7*s))) }, 0, fitness.Wow},
		{"there and back, without treble", 1, func(s float64) int { return int(math.Round(40 + 25*math.Sin(2*math.Pi*0.7*s))) },
			12000, fitness.Resampled},
		{"slipping", 0, func(s float64) int { return 40 - int(4*s) }, 0, fitness.DroppedSamples},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, err := sweep.New(sweep.Config{Duration: 3 * time.Second, Level: -12})
			require.NoError(t, err)
			stimulus, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: 500 * time.Millisecond, Gap: 600 * time.Millisecond})
			require.NoError(t, err)
			channels := rig.Rig{SampleRate: 48000, Latency: 500.3, Noise: rig.Noise{Level: -95}}.Direct(stimulus.Channels())
			for k, x := range channels {
				moved := make([]float64, len(x))
				for i := range moved {
					moved[i] = c.own * x[i]
					if at := i - c.late(float64(i)/48000); at >= 0 {
						moved[i] += 0.5 * x[at]
					}
				}
				channels[k] = moved
			}
			if c.cut > 0 {
				channels = rig.CutTreble(channels, c.cut, 48000)
			}
			report := inspected(&capture.Recording{Name: "a.wav", SampleRate: 48000, Channels: channels}, said{Stimulus: stimulus})
			require.NotEmpty(t, report.Findings)
			assert.Equal(t, c.want, report.Findings[0].Kind, "%v", report.Findings)
			assert.True(t, c.own == 0 || len(report.Of(fitness.LossyCodec)) == 0, "%v", report.Findings)
		})
	}
}
