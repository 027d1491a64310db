package sweep

import (
	"math"
	"math/cmplx"

	"example.com/earnest/internal/hugepage"
)

// InverseFilter returns the classic inverse of an exponential sweep (Farina 2000): the sweep
// reversed in time and weighted by its instantaneous frequency (+6 dB per octave, which turns the
// −3 dB per octave of its spectrum into +3 dB),
//
//	y(t) = 4 f(T−t) x(T−t) / (A² L fs²).
//
// Convolved with the sweep it gives an impulse with gain 1 inside the band, delayed by Len()−1
// samples. The peak of the impulse is the share of the band that the sweep covers, 2(f2−f1)/fs,
// less half a per cent for the fades. The gain is not exactly 1, since the ripple and the fades at
// the ends of the sweep enter twice. For 20 Hz–20 kHz in 6 s at 48 kHz its error is 0.001 dB from
// 200 Hz to 10 kHz, 0.25 dB from 40 Hz to 18 kHz, 2.6 dB from 25 Hz on, and 15 to 23 dB at the very
// ends of the band. It is provided for teaching and for other programs; package response divides by
// the spectrum of the sweep as played instead.
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
//	X̃(f) = 2/(A fs) sqrt(f/L) exp(−j(2πfL [1 − ln(f/f1)] + ψ) + jπ/4),  X̃(0) = 0,
//
// where ψ = φ0 − 2π f1 L is the Asynchrony, and returns it. It makes dst if that is nil, and panics
// if dst does not hold n/2+1 values. It is the inverse of a sweep without ends (Novak, Lotton,
// Simon, J. Audio Eng. Soc. 63(10), 2015), so it is valid above the stop frequency too, where
// harmonics are. Multiplied by the spectrum of a recording, it puts the response of the n-th
// harmonic at −L ln n seconds. Multiplied by the spectrum of the sweep, it gives 1 to within half
// of the errors of InverseFilter, since the ends of the sweep enter once.
func (s *Sweep) InverseSpectrum(dst []complex128, n int) []complex128 {
	if dst == nil {
		dst = hugepage.Make[complex128](n/2 + 1)
	}
	if len(dst) != n/2+1 {
		panic("sweep: the inverse spectrum of n points has n/2+1 bins")
	}
	fs, a, turn := float64(s.sampleRate), s.Amplitude(), math.Pi/4-s.Asynchrony()
	dst[0] = 0
	for k := 1; k < len(dst); k++ {
		f := float64(k) * fs / float64(n)
		cycles := f * s.timeConstant * (1 - math.Log(f/s.start))
		cycles -= math.Floor(cycles)
		dst[k] = cmplx.Rect(2/(a*fs)*math.Sqrt(f/s.timeConstant), turn-2*math.Pi*cycles)
	}
	return dst
}

// SpectrumLevel returns the magnitude of the sweep's spectrum at f Hz inside its band, by the
// principle of stationary phase: (A/2) sqrt(L/f) fs, in the units of a discrete transform that does
// not divide by its length. It falls by 3 dB per octave.
func (s *Sweep) SpectrumLevel(f float64) float64 {
	return s.Amplitude() / 2 * math.Sqrt(s.timeConstant/f) * float64(s.sampleRate)
}
