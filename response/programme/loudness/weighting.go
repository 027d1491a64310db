package loudness

import "math"

// BS.1770-5 gives the K-weighting as coefficients at 48 kHz. These are the frequency, quality and
// gain of the analogue filters whose bilinear transform has those coefficients, so that the
// weighting is the same at other rates. The test compares the coefficients at 48 kHz.
const (
	shelfFrequency = 1681.974450955533 // Hz
	shelfQuality   = 0.7071752369554196
	shelfGain      = 3.999843853973347 // dB
	// shelfMiddle is the exponent of the gain in the middle term of the shelf's numerator.
	shelfMiddle       = 0.4996667741545416
	highPassFrequency = 38.13547087602444 // Hz
	highPassQuality   = 0.5003270373238773
)

// section is a biquad with its state (transposed direct form II), a0 normalised to 1.
type section struct {
	b0, b1, b2, a1, a2 float64
	s1, s2             float64
}

// weighting is the K-weighting of one channel: a high shelf for the head, then a high pass.
type weighting struct{ shelf, highPass section }

func newWeighting(rate float64) *weighting {
	k := math.Tan(math.Pi * shelfFrequency / rate)
	high := math.Pow(10, shelfGain/20)
	middle := math.Pow(high, shelfMiddle)
	a0 := 1 + k/shelfQuality + k*k
	shelf := section{
		b0: (high + middle*k/shelfQuality + k*k) / a0,
		b1: 2 * (k*k - high) / a0,
		b2: (high - middle*k/shelfQuality + k*k) / a0,
		a1: 2 * (k*k - 1) / a0,
		a2: (1 - k/shelfQuality + k*k) / a0,
	}
	k = math.Tan(math.Pi * highPassFrequency / rate)
	a0 = 1 + k/highPassQuality + k*k
	// As in the standard, the numerator is not divided by a0.
	return &weighting{shelf, section{
		b0: 1, b1: -2, b2: 1,
		a1: 2 * (k*k - 1) / a0,
		a2: (1 - k/highPassQuality + k*k) / a0,
	}}
}

// energy filters x, going on from the last call, and returns the sum of squares of the output.
func (w *weighting) energy(x []float64) float64 {
	s, h := w.shelf, w.highPass
	sum := 0.0
	for _, v := range x {
		y := s.b0*v + s.s1
		s.s1 = s.b1*v - s.a1*y + s.s2
		s.s2 = s.b2*v - s.a2*y
		z := y + h.s1
		h.s1 = -2*y - h.a1*z + h.s2
		h.s2 = y - h.a2*z
		sum += z * z
	}
	w.shelf, w.highPass = s, h
	return sum
}
