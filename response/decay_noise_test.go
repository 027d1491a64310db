package response

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// For e^(−t/τ) in steady noise of power N, without scatter, the energy to come is (τ/2) e^(−2t/τ).
// It is known until e^(−2t/τ) = 9 N, where the total is ten times the noise. At e^(−2t/τ) = N the
// integration stops.
func TestDecayOfAnExponentialInSteadyNoise(t *testing.T) {
	const tau, noise, step, sigma = 0.02, 1e-5, 1e-4, 1000.0
	for _, lead := range []int{0, 500} { // samples of zeros before it
		d := Decay{Start: -float64(lead) * step, Step: step, rate: 2 * math.Pi * sigma}
		power := make([]float64, lead+10000)
		for i := range power[lead:] {
			power[lead+i] = math.Exp(-2*float64(i)*step/tau) + noise
		}
		d.integrate(power, lead)
		require.Empty(t, d.unknown)
		require.Len(t, d.Level, len(power))
		assert.InDelta(t, -50, d.Noise, 0.001, "dB; 1 and the noise for 1")
		assert.InDelta(t, 0, d.Level[0], 1e-12, "relative to all, the tail included; rounding")
		known, stop := -tau/2*math.Log(9*noise), -tau/2*math.Log(noise)
		bandwidth := sigma * math.Sqrt(math.Pi) // ∫ |H|² df
		for i, level := range d.Level {
			at := d.Start + float64(i)*step
			switch {
			case at < 0:
				require.InDelta(t, 0, level, 0.03, "all is still to come; half a step of 200")
			case at < known-2*step:
				require.InDelta(t, -20*math.Log10(math.E)*at/tau, level, 0.03, "%v s; the tail's slope, of decay and noise together, is 4 %% wrong", at)
				scatter := noise * math.Sqrt((stop-at)/bandwidth) / (tau / 2 * math.Exp(-2*at/tau))
				require.InEpsilon(t, 10/math.Ln10*scatter, d.deviation[i], 0.02, "%v s; a step or two in a time of 200", at)
			case at > known+2*step:
				require.True(t, math.IsNaN(level) && math.IsNaN(d.deviation[i]), "%v s", at)
			}
		}
	}
}

// The uncertainty of a time is that of the level over the slope, 20 log10 e / τ, and half of
// 1/(2πσ) for the onset.
func TestUncertaintyOfADecayTimeInSteadyNoise(t *testing.T) {
	const tau, noise, step, sigma = 0.02, 1e-5, 1e-4, 1000.0
	d := Decay{Step: step, rate: 2 * math.Pi * sigma}
	power := make([]float64, 10000)
	for i := range power {
		power[i] = math.Exp(-2*float64(i)*step/tau) + noise
	}
	d.integrate(power, 0)
	at := 1.5 * math.Ln10 * tau // where 30 dB are lost
	got, reason := d.To(-30)
	require.Empty(t, reason)
	assert.InDelta(t, at, got.Value, step/5, "a tenth of a decibel, of 434 in a second")
	scatter := noise * math.Sqrt((-tau/2*math.Log(noise)-at)/(sigma*math.Sqrt(math.Pi))) / (tau / 2 * 1e-3)
	assert.InEpsilon(t, math.Hypot(scatter*tau/2, 0.5/d.rate), got.Uncertainty, 0.03, "two steps in 500")

	unknown := slices.IndexFunc(d.Level, math.IsNaN)
	end, _ := d.To(d.Level[unknown-1])
	assert.InDelta(t, float64(unknown-1)*step, end.Value, 1e-9, "the last point that is known; rounding")
	assert.Greater(t, end.Uncertainty, got.Uncertainty)
}

func TestMovingMeanByHand(t *testing.T) {
	x := []float64{1, 2, 4, 8, 16}
	for width, want := range map[int][]float64{
		0: x, 1: x,
		2: {1.5, 7 / 3.0, 14 / 3.0, 28 / 3.0, 12}, 3: {1.5, 7 / 3.0, 14 / 3.0, 28 / 3.0, 12}, // one on each side
		5:  {7 / 3.0, 3.75, 6.2, 7.5, 28 / 3.0},
		99: {6.2, 6.2, 6.2, 6.2, 6.2},
	} {
		assert.InDeltaSlice(t, want, movingMean(x, width), 1e-12, "width %d; rounding", width)
	}
}

// The last quarter after the peak, at sample 2, without the last 1/(rate · step) samples twice
// over, into which the filter spreads the cut.
func TestNoiseOfADecayByHand(t *testing.T) {
	power := make([]float64, 26)
	for i := range power {
		power[i] = float64(i)
	}
	const step = 0.5
	of := func(cut float64, samples int) float64 {
		d := Decay{Start: -2 * step, Step: step, rate: 2 / step / cut}
		return d.noise(power[:samples])
	}
	assert.Equal(t, (18+23)/2.0, of(2, 26), "6 of 24 samples, the last two left out")
	assert.Equal(t, (3+8)/2.0, of(17, 26), "the first after the ringing of the filter")
	assert.True(t, math.IsInf(of(18, 26), 1), "not known within the ringing of the filter")
	assert.True(t, math.IsInf(of(0.5, 5), 1), "nor of a quarter of three samples")
}

// Eight samples of power 100 in noise of 1, after two of zeros without any effect of the filter:
// the trapezium between two samples less their noise.
func TestDecayCurveByHand(t *testing.T) {
	const step, lead, near, end = 0.5, 2, 9, 10
	power := make([]float64, 26)
	for i := lead; i < len(power); i++ {
		power[i] = 1
		if i <= near {
			power[i] = 100
		}
	}
	d := Decay{Start: -lead * step, Step: step, rate: 4 * math.Sqrt(math.Pi) / step} // a mean over one sample is that sample
	d.integrate(power, lead)
	require.Len(t, d.Level, len(power))
	assert.InDelta(t, -20, d.Noise, 1e-12, "1 in 100; rounding")
	energy := func(i int) float64 { return 49.5 + 99*float64(near-i) } // in steps, from the noise back
	all := energy(lead) + 50
	for i := range d.Level {
		want := 10 * math.Log10(energy(i)/all)
		switch {
		case i < lead:
			want = 0
		case i > near:
			assert.True(t, math.IsNaN(d.Level[i]) && math.IsNaN(d.deviation[i]), "sample %d is noise", i)
			continue
		}
		require.InDelta(t, want, d.Level[i], 1e-12, "sample %d; rounding", i)
		if i >= lead { // noise of 1 over a time of end − i steps and a band of 2/step
			assert.InDelta(t, 10/math.Ln10*math.Sqrt(float64(end-i)/2)/energy(i), d.deviation[i], 1e-12, "sample %d; rounding", i)
		}
	}
}
