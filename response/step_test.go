package response_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// One pole, in closed form: (1 − a) aⁿ sums to 1 − a^(n+1), and the response to the remainder of an
// impulse to a^(n+1).
func TestStepOfOnePole(t *testing.T) {
	const a = 0.99
	low, high := make([]float64, 500), make([]float64, 500)
	for n := range low {
		low[n] = (1 - a) * math.Pow(a, float64(n))
		high[n] = -low[n]
	}
	high[0]++
	rises := (&response.Impulse{Samples: low, SampleRate: 48000}).Step(nil)
	falls := (&response.Impulse{Samples: high, SampleRate: 48000}).Step(make([]float64, 500))
	for n := range low {
		want := math.Pow(a, float64(n+1))
		require.InDelta(t, 1-want, rises[n], 1e-13) // rounding of 500 additions
		require.InDelta(t, want, falls[n], 1e-13)
	}
	assert.Panics(t, func() { (&response.Impulse{Samples: low}).Step(make([]float64, 3)) })
}

// sineIntegral returns Si(x) by Simpson's rule, to within 1e−9.
func sineIntegral(x float64) float64 {
	n := 2 * (50 + int(20*math.Abs(x)))
	step := x / float64(n)
	f := func(u float64) float64 {
		if u == 0 {
			return 1
		}
		return math.Sin(u) / u
	}
	sum := f(0) + f(x)
	for i := 1; i < n; i++ {
		sum += float64(2+2*(i%2)) * f(float64(i)*step)
	}
	return sum * step / 3
}

// The impulse response of an ideal band without phase sums to the closed form.
func TestStepOfAnIdealBand(t *testing.T) {
	const rate, low, high = 48000, 50.0, 10000.0
	h := &response.Impulse{Samples: make([]float64, 2*rate+1), SampleRate: rate, Zero: rate}
	sinc := func(x float64) float64 { // 2f sin(x)/x, with x = 2πft
		if x == 0 {
			return 1
		}
		return math.Sin(x) / x
	}
	for i := range h.Samples {
		x := 2 * math.Pi * h.Time(i)
		h.Samples[i] = (2*high*sinc(high*x) - 2*low*sinc(low*x)) / rate
	}
	step := h.Step(nil)
	assert.InDelta(t, 1.851937, sineIntegral(math.Pi), 1e-6) // the Wilbraham–Gibbs constant
	for _, after := range []int{-960, -240, -48, -10, 0, 2, 5, 48, 240, 480, 960} {
		// The sum of samples up to i reaches half a sample further than i.
		x := 2 * math.Pi * (float64(after) + 0.5) / rate
		want := (sineIntegral(high*x) - sineIntegral(low*x)) / math.Pi
		assert.InDelta(t, want, step[h.Zero+after], 0.02, "%d samples after", after) // a sum in place of an integral, at 5 samples a period
	}
}

// A wire measured with a sweep of 50 Hz to 10 kHz rises at the rate of the band, overshoots by 9 %
// (Wilbraham and Gibbs), and stays up for as long as it is known.
func TestStepOfAWire(t *testing.T) {
	s := mustSweep(t, sweep.Config{Start: 50, Stop: 10000})
	h, err := mustDeconvolver(t, s, response.DeconvolverConfig{}).Impulse(played(s, s.SampleRate()))
	require.NoError(t, err)
	peak, err := h.Peak()
	require.NoError(t, err)
	step := h.Step(nil)
	assert.InDelta(t, 0, step[peak-48], 0.02) // 1 ms before the peak
	assert.InDelta(t, 1.0895, slices.Max(step[peak:peak+10]), 0.02)
	assert.InDelta(t, 1, step[peak+48], 0.04)  // 1 ms: ripple of the upper edge
	assert.InDelta(t, 1, step[peak+480], 0.02) // 10 ms later, 1/(2 · 50 Hz)
}
