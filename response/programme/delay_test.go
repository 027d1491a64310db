//go:build !race

package programme_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response/programme"
)

// Speech and music end below half the sample rate, with the same noise in both recordings. A filter
// beyond the material's band changes the phase within it. This must not be reported as a delay with
// a small uncertainty. The truth: sox's effects of the Audio EQ Cookbook have minimum phase, and a
// gain has no phase.
func TestDelayOfMaterialThatEndsEarly(t *testing.T) {
	long.Skip(t)
	const late = 1000
	for _, c := range []struct {
		name, file string
		effects    []string
		most       float64 // samples
	}{
		{"speech, a gain", "8297-275156-0011.flac", []string{"vol", "0.4"}, 0.02},
		{"music, a gain", "257344.flac", []string{"vol", "0.4"}, 0.02},
		{"speech, a fall above its band", "8297-275156-0011.flac", []string{"lowpass", "-2", "11628", "0.66q"}, math.Inf(1)},
		{"speech, a fall within its band", "8297-275156-0011.flac", []string{"lowpass", "-2", "5110", "1.03q"}, math.Inf(1)},
		{"music, a fall and a peak", "257344.flac", []string{"lowpass", "-2", "14071", "0.53q", "equalizer", "960", "2.1q", "-5.7"}, math.Inf(1)},
	} {
		t.Run(c.name, func(t *testing.T) {
			x, fs := recorded(t, c.file)
			x = upsampled(x, fs, 48000)
			y := sox(t, append(make([]float64, late), x...), 48000, c.effects...)
			a, err := programme.Align(channel("direct", withNoise(x, 70, 1), 48000), channel("through", withNoise(y, 70, 2), 48000))
			assert.NoError(t, err)
			e, u := math.Abs(a.Delay*48000-late), a.DelayUncertainty*48000
			t.Logf("off by %.4f samples, uncertain by %.4f", e, u)
			assert.LessOrEqual(t, e, c.most, "samples; the required accuracy for a gain")
			assert.LessOrEqual(t, e, 3*u, "samples; three standard uncertainties")
			assert.Less(t, u, 1., "samples; it is known, too")
		})
	}
}

// A low-pass turns the phase of most of the band of noise. That is not swapped polarity; swapped
// wires behind the low-pass are.
func TestPolarityBehindALowPass(t *testing.T) {
	long.Skip(t)
	const fs, late = 96000, 700
	for _, gain := range []float64{1, -1} {
		d := device{filter: biquad.Chain{biquad.New(biquad.LowPass, 8245, 0.98, 0, fs), biquad.New(biquad.Peaking, 6231, 2.79, 12, fs)}, gain: gain, start: late}
		x, _ := noisy(4, fs, 1)
		a, err := programme.Align(channel("direct", x, fs), channel("through", d.through(x), fs))
		assert.NoError(t, err)
		assert.Equal(t, gain < 0, a.Inverted)
		assert.InDelta(t, late, a.Delay*fs, 0.02, "samples")
	}
}

// upsampled returns x at a higher sample rate. Its spectrum ends at the same frequency.
func upsampled(x []float64, from, to int) []float64 {
	n := (len(x) + from/2) / from * from // whole seconds: both lengths are then integers
	padded := make([]float64, max(n, from))
	copy(padded, x)
	m := len(padded) / from * to
	wide := make([]complex128, m/2+1)
	for k, v := range fft.NewPlan(len(padded)).Forward(nil, padded) {
		wide[k] = v * complex(float64(to)/float64(from), 0)
	}
	return fft.NewPlan(m).Inverse(nil, wide)
}
