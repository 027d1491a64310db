package rig

import (
	"math"
	"math/cmplx"
	"math/rand/v2"

	"example.com/earnest/internal/biquad"
)

// Noise is a Gaussian noise.
type Noise struct {
	// Level is in dBFS rms, below 0; 0 means none.
	Level float64
	// Pink is the share of the power, 0 to 1, that is pink (falling by 3 dB per octave above 10 Hz)
	// and not white.
	Pink float64
}

// add adds the noise to x.
func (n Noise) add(x []float64, sampleRate float64, random *rand.Rand) {
	if n.Level == 0 {
		return
	}
	white := factor(n.Level) * math.Sqrt(1-n.Pink)
	for i := range x {
		x[i] += white * random.NormFloat64()
	}
	if n.Pink == 0 {
		return
	}
	pinkening := pinkening(sampleRate)
	y := make([]float64, len(x))
	amplitude := factor(n.Level) * math.Sqrt(n.Pink) / powerGain(pinkening, sampleRate)
	for i := range y {
		y[i] = amplitude * random.NormFloat64()
	}
	pinkening.Apply(y)
	for i, v := range y {
		x[i] += v
	}
}

// Hum is the hum of the mains in a recording.
type Hum struct {
	// Frequency is that of the mains in Hz; 0 means no hum.
	Frequency float64
	// Level is that of the fundamental in dBFS peak.
	Level float64
	// Harmonics are the levels of the harmonics 2, 3, … in dB re the
	// fundamental.
	Harmonics []float64
}

// add adds the hum to x, without harmonics above half the sample rate. Harmonic k starts with a
// phase of k² radians, so that they do not all peak at once.
func (h Hum) add(x []float64, sampleRate float64) {
	if h.Frequency <= 0 {
		return
	}
	for k, level := range append([]float64{0}, h.Harmonics...) {
		order := float64(k + 1)
		if order*h.Frequency >= sampleRate/2 {
			return
		}
		v := cmplx.Rect(factor(h.Level+level), order*order)
		turn := cmplx.Rect(1, 2*math.Pi*order*h.Frequency/sampleRate)
		for i := range x {
			x[i] += imag(v)
			v *= turn
		}
	}
}

// pinkening returns filters that fall by 3 dB per octave, on average: a pole every two octaves from
// 10 Hz, and a zero an octave above each.
func pinkening(sampleRate float64) biquad.Chain {
	var c biquad.Chain
	for f := 10.0; f < sampleRate/4; f *= 4 {
		pole, zero := math.Exp(-2*math.Pi*f/sampleRate), math.Exp(-2*math.Pi*2*f/sampleRate)
		c = append(c, biquad.Filter{B0: 1, B1: -zero, A1: -pole})
	}
	return c
}

// powerGain returns the rms value of white noise of rms 1 behind the filters: the root of the
// energy of their impulse response (Parseval).
func powerGain(c biquad.Chain, sampleRate float64) float64 {
	h := make([]float64, int(sampleRate/4)) // the slowest pole decays in 16 ms, its energy to e⁻³¹ in 250 ms
	h[0] = 1
	c.Apply(h)
	var energy float64
	for _, v := range h {
		energy += v * v
	}
	return math.Sqrt(energy)
}
