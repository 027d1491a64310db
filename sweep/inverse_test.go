package sweep_test

import (
	"math"
	"math/cmplx"
	"testing"
	"time"

	"example.com/earnest/internal/fft"
	"example.com/earnest/sweep"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// worst returns the largest error over a band, in dB and in degrees, of a gain that should be 1.
func worst(p *fft.Plan, sampleRate int, low, high float64, gain func(k int) complex128) (level, phase float64) {
	for k := range p.Bins() {
		if f := p.Frequency(k, float64(sampleRate)); f >= low && f <= high {
			g := gain(k)
			level = max(level, math.Abs(20*math.Log10(cmplx.Abs(g))))
			phase = max(phase, math.Abs(cmplx.Phase(g))*180/math.Pi)
		}
	}
	return level, phase
}

// The measured errors are those in the comments of InverseFilter and InverseSpectrum.
func TestClassicInversesOnTheSweepItself(t *testing.T) {
	s := mustNew(t, sweep.Config{Level: -12})
	p := fft.NewPlan(fft.FastLen(2 * s.Len()))
	spectrum := p.Forward(nil, s.Samples())
	filter := p.Forward(nil, s.InverseFilter())
	analytic := s.InverseSpectrum(nil, p.Len())
	ends := float64(s.Len() - 1) // samples of delay of the filter
	product := make([]complex128, len(spectrum))
	for k := range product {
		product[k] = spectrum[k] * filter[k]
	}

	for _, band := range []struct {
		name             string
		low, high        float64
		filter, analytic float64 // dB
		filterPhase      float64 // degrees
		analyticPhase    float64
	}{
		{"200 Hz to 10 kHz", 200, 10000, 0.001, 0.001, 0.02, 0.02},
		{"40 Hz to 18 kHz", 40, 18000, 0.25, 0.16, 0.6, 1.2},
		{"25 Hz to 18 kHz", 25, 18000, 2.6, 1.4, 2, 8},
	} {
		level, phase := worst(p, s.SampleRate(), band.low, band.high, func(k int) complex128 {
			return product[k] * cmplx.Rect(1, 2*math.Pi*float64(k)*ends/float64(p.Len()))
		})
		assert.Less(t, level, band.filter, "filter, %s: as its comment says", band.name)
		assert.Less(t, phase, band.filterPhase, "filter, %s: reversal in time cancels the phase, except that of the weight", band.name)
		level, phase = worst(p, s.SampleRate(), band.low, band.high, func(k int) complex128 { return spectrum[k] * analytic[k] })
		assert.Less(t, level, band.analytic, "spectrum, %s: half of the filter's, and room", band.name)
		assert.Less(t, phase, band.analyticPhase, "spectrum, %s: as measured", band.name)
	}
	level, _ := worst(p, s.SampleRate(), 19900, 20000, func(k int) complex128 { return product[k] })
	assert.InDelta(t, 23, level, 1, "filter, the very end: it is as bad as its comment says")

	impulse := p.Inverse(nil, product)
	peak := 0
	for i, v := range impulse {
		if math.Abs(v) > math.Abs(impulse[peak]) {
			peak = i
		}
	}
	assert.Equal(t, s.Len()-1, peak)
	share := 2 * (s.Stop() - s.Start()) / float64(s.SampleRate())
	assert.InEpsilon(t, share, impulse[peak], 0.005, "an impulse of gain 1 over this share of the band, less the fades")
}

// Novak, Lotton, Simon 2015: X̃ = 2 sqrt(f/L) exp(−j2πfL[1 − ln(f/f1)] + jπ/4)
// per second, so divided by the sample rate for samples.
func TestInverseSpectrumIsTheClosedForm(t *testing.T) {
	s := mustNew(t, sweep.Config{Start: 10, Stop: 12000, SampleRate: 96000, Duration: 2 * time.Second, Level: -6})
	const n = 9600 // bins of 10 Hz
	got := s.InverseSpectrum(nil, n)
	require.Len(t, got, n/2+1)
	assert.Equal(t, complex128(0), got[0])
	for _, k := range []int{1, 7, 100, 1200, 3000, 4800} { // the last two are above the stop frequency
		f := float64(10 * k)
		want := complex(2*math.Sqrt(f/s.TimeConstant())/96000/math.Pow(10, -6.0/20), 0) *
			cmplx.Exp(complex(0, -2*math.Pi*f*s.TimeConstant()*(1-math.Log(f/10))+math.Pi/4))
		assert.InDelta(t, 0, cmplx.Abs(got[k]/want-1), 1e-9, "%g Hz; up to 10^6 rad in double precision", f)
	}
	dst := make([]complex128, n/2+1)
	assert.Same(t, &dst[0], &s.InverseSpectrum(dst, n)[0])
	assert.Equal(t, got, dst)
	assert.Panics(t, func() { s.InverseSpectrum(make([]complex128, n/2), n) })
}

// By the principle of stationary phase (A/2) sqrt(L/f) fs.
func TestSpectrumFallsThreeDecibelPerOctave(t *testing.T) {
	s := mustNew(t, sweep.Config{Level: -20})
	assert.InDelta(t, -10*math.Log10(2), 20*math.Log10(s.SpectrumLevel(2000)/s.SpectrumLevel(1000)), 1e-12, "double precision")
	assert.InEpsilon(t, 0.1/2*math.Sqrt(s.TimeConstant()/1000)*48000, s.SpectrumLevel(1000), 1e-12, "double precision")
	p := fft.NewPlan(fft.FastLen(s.Len()))
	spectrum := p.Forward(nil, s.Samples())
	level, _ := worst(p, s.SampleRate(), 200, 10000, func(k int) complex128 {
		return spectrum[k] / complex(s.SpectrumLevel(p.Frequency(k, 48000)), 0)
	})
	assert.Less(t, level, 0.001, "ripple of the ends, a tenth of the band away")
}
