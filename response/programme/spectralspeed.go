package programme

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/fft"
)

// Another speed shifts a spectrum along a logarithmic frequency axis. The shift is read from the
// fine structure of the spectrum, at any delay; the slow course, which headphones change, is
// removed first.
const (
	// spectralLow and spectralHigh bound the spectra in Hz; thinning leaves little above.
	spectralLow, spectralHigh = 150, 1700
	// spectralStep is the step of the logarithm of the frequency, and spectralCourse the number of
	// steps on either side over which the course is averaged.
	spectralStep, spectralCourse = 1e-4, 150
	// spectralReach is the largest logarithm of a speed: a ninth more or less.
	spectralReach = 0.12
	// spectralProminence is the least prominence of the match of the two in dB.
	spectralProminence = 16
)

// spectralSpeed returns the speed of the through recording relative to the direct one by their
// spectra, or 0 if these do not match.
func (t *decimated) spectralSpeed(sampleRate int) float64 {
	rate := float64(sampleRate) / float64(t.step)
	x, y := fineSpectrum(t.direct, rate), fineSpectrum(t.through, rate)
	reach := int(spectralReach / spectralStep)
	plan := fft.NewPlan(fft.FastLen(len(x) + reach))
	a, b := plan.Forward(nil, x), plan.Forward(nil, y)
	for k, v := range a {
		b[k] *= complex(real(v), -imag(v))
	}
	c := plan.Inverse(nil, b)
	lags := append(c[len(c)-reach:len(c):len(c)], c[:reach+1]...)
	peak, prominence := prominent(lags, len(lags))
	if peak < 0 || !(prominence >= spectralProminence && lags[peak] > 0) {
		return 0
	}
	return math.Exp(spectralStep * (float64(peak-reach) + vertexNear(lags, peak)))
}

// fineSpectrum returns the level of a signal at equal steps of the logarithm of the frequency, less
// its course, in nepers.
func fineSpectrum(x []float64, rate float64) []float64 {
	plan := fft.NewPlan(fft.FastLen(2 * len(x)))
	power := plan.Forward(nil, x)
	sums := make([]float64, len(power)+1)
	for k, v := range power {
		sums[k+1] = sums[k] + fft.Power(v)
	}
	// until returns the integral of the power up to a bin, with the bins as steps.
	until := func(bin float64) float64 {
		k := min(int(bin), len(power)-1)
		return sums[k] + (bin-float64(k))*(sums[k+1]-sums[k])
	}
	level := make([]float64, int(math.Log(spectralHigh/spectralLow)/spectralStep))
	bin := rate / float64(plan.Len())
	for i := range level {
		f := spectralLow * math.Exp(float64(i)*spectralStep) / bin
		width := max(1, f*spectralStep)
		level[i] = math.Log(until(f+width/2) - until(f-width/2) + 1e-9*sums[len(power)]/float64(len(power)))
	}
	course := floats.CumSum(make([]float64, len(level)), level)
	fine := make([]float64, len(level))
	for i := range fine {
		from, to := max(0, i-spectralCourse), min(len(level)-1, i+spectralCourse)
		fine[i] = level[i] - (course[to]-course[from])/float64(to-from)
	}
	return fine
}
