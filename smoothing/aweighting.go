package smoothing

import "math"

// AWeighting returns the gain in dB, relative to that at 1 kHz, of the frequency weighting A of IEC
// 61672-1 at f Hz:
//
//	R(f) = 12194² f⁴ / ((f² + 20.6²) √((f² + 107.7²)(f² + 737.9²)) (f² + 12194²))
//	A(f) = 20 log10(R(f)/R(1000))
//
// The standard specifies it from 10 Hz to 20 kHz; its table is this formula rounded to 0.1 dB at
// exact thirds of an octave. At 0 Hz it is −Inf dB, which is a gain of zero. NaN if f is negative
// or NaN.
func AWeighting(f float64) float64 {
	if !(f >= 0) {
		return math.NaN()
	}
	return 20 * math.Log10(aResponse(f)/aResponse(1000))
}

// aResponse returns R(f) with each pole as a ratio, so that nothing overflows.
func aResponse(f float64) float64 {
	square := func(x float64) float64 { return x * x }
	return 1 / ((1 + square(20.6/f)) *
		math.Sqrt(1+square(107.7/f)) * math.Sqrt(1+square(737.9/f)) *
		(1 + square(f/12194)))
}
