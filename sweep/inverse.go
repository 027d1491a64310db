package sweep

import (
	"math"
	"math/cmplx"

	"example.com/earnest/internal/hugepage"
)

// InverseFilter returns the classic inverse of an exponential sweep (Farina
// 2000): the sweep itself, reversed in time and weighted by its own
// instantaneous frequency (+6 dB per octave, which turns its −3 into +3),
//
//	y(t) = 4 f(T−t) x(T−t) / (A² L fs²).
//
// Convolved with the sweep it gives an impulse of gain 1 inside the band,
// delayed by Len()−1 samples, whose peak is the share of the band that the
// sweep covers, 2(f2−f1)/fs, less half a per cent for the fades. The gain is
// only nearly 1: the ripple and the fades of the sweep's ends enter twice. On
// 20 Hz–20 kHz in 6 s at 48 kHz it is within 0.001 dB from 200 Hz to 10 kHz,
// 0.25 dB from 40 Hz to 18 kHz and 2.6 dB from 25 Hz on, and is 15 to 23 dB
// off at the very ends. It is here because it is what is taught; package
// response divides by the spectrum as played instead.
func (s *Sweep) InverseFilter() []float64 {
	x := s.Samples()
	n, fs, a := len(x), float64(s.sampleRate), s.Amplitude()
	y := make([]float64, n)
	scale := 4 / (a * a * s.timeConstant * fs * fs)
	for i, v := range x {
		y[n-1-i] = scale * v * s.start * math.Exp(float64(i)/fs/s.timeConstant)
	}
	return y
}

// InverseSpectrum fills dst with the analytic inverse of the sweep at the bins
// k fs/n, k = 0 … n/2, of an n-point transform,
//
//	X̃(f) = 2/(A fs) sqrt(f/L) exp(−j2πfL [1 − ln(f/f1)] + jπ/4),  X̃(0) = 0,
//
// and returns it; dst is made when nil and must otherwise hold n/2+1 values,
// or InverseSpectrum panics. It is the inverse of a sweep that has no ends
// (Novak, Lotton, Simon, J. Audio Eng. Soc. 63(10), 2015), so it holds above
// the stop frequency too, where harmonics are; multiplied with the spectrum of
// a recording it puts the n-th harmonic's response at −L ln n seconds.
// Multiplied with the sweep's own spectrum it gives 1 within half of the
// errors of InverseFilter, for the ends enter once.
func (s *Sweep) InverseSpectrum(dst []complex128, n int) []complex128 {
	if dst == nil {
		dst = hugepage.Make[complex128](n/2 + 1)
	}
	if len(dst) != n/2+1 {
		panic("sweep: the inverse spectrum of n points has n/2+1 bins")
	}
	fs, a := float64(s.sampleRate), s.Amplitude()
	dst[0] = 0
	for k := 1; k < len(dst); k++ {
		f := float64(k) * fs / float64(n)
		cycles := f * s.timeConstant * (1 - math.Log(f/s.start))
		cycles -= math.Floor(cycles)
		dst[k] = cmplx.Rect(2/(a*fs)*math.Sqrt(f/s.timeConstant), math.Pi/4-2*math.Pi*cycles)
	}
	return dst
}

// SpectrumLevel is the magnitude of the sweep's spectrum at f Hz inside its
// band by the principle of stationary phase, (A/2) sqrt(L/f) fs, in the units
// of a discrete transform that does not divide by its length: it falls by 3 dB
// per octave.
func (s *Sweep) SpectrumLevel(f float64) float64 {
	return s.Amplitude() / 2 * math.Sqrt(s.timeConstant/f) * float64(s.sampleRate)
}
