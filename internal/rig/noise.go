package rig

import (
	"math"
	"math/cmplx"
	"math/rand/v2"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/hugepage"
)

// Noise is a Gaussian noise.
type Noise struct {
	// Level is in dBFS rms, below 0; 0 means none.
	Level float64
	// Pink is the share of the power, 0 to 1, that is pink (falling by 3 dB per octave above 10 Hz)
	// and not white.
	Pink float64
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

// add adds the hum to x.
func (h Hum) add(x []float64, sampleRate float64) {
	if h.Frequency <= 0 {
		return
	}
	n := len(x)
	if period := sampleRate / h.Frequency; period == math.Trunc(period) {
		n = min(n, int(period)) // of a whole number of samples, as at 48 kHz
	}
	for one := h.samples(n, sampleRate); len(x) > 0; x = x[min(n, len(x)):] {
		floats.Add(x[:min(n, len(x))], one[:min(n, len(x))])
	}
}

// samples returns the first n samples, without harmonics above half the sample rate. Harmonic k
// starts with a phase of k² radians, so that they do not all peak at once.
func (h Hum) samples(n int, sampleRate float64) []float64 {
	x := make([]float64, n)
	for k, level := range append([]float64{0}, h.Harmonics...) {
		order := float64(k + 1)
		if order*h.Frequency >= sampleRate/2 {
			break
		}
		v := cmplx.Rect(factor(h.Level+level), order*order)
		turn := cmplx.Rect(1, 2*math.Pi*order*h.Frequency/sampleRate)
		for i := range x {
			x[i] += imag(v)
			v *= turn
		}
	}
	return x
}

// addNoise adds noises to x.
func addNoise(x []float64, sampleRate float64, random *rand.Rand, noises ...Noise) {
	var pink []float64 // the sum of the pink ones, which pass the filters together
	var filters biquad.Chain
	for _, n := range noises {
		if n.Level == 0 {
			continue
		}
		white := factor(n.Level) * math.Sqrt(1-n.Pink)
		for i := range x {
			x[i] += white * random.NormFloat64()
		}
		if n.Pink == 0 {
			continue
		}
		if pink == nil {
			pink, filters = hugepage.Make[float64](len(x)), pinkening(sampleRate)
		}
		amplitude := factor(n.Level) * math.Sqrt(n.Pink) / powerGain(filters, sampleRate)
		for i := range pink {
			pink[i] += amplitude * random.NormFloat64()
		}
	}
	if pink != nil {
		filters.Apply(pink)
		floats.Add(x, pink)
	}
}

// pinkening returns filters that fall by 3 dB per octave, on average: a pole every two octaves from
// 10 Hz, and a zero an octave above each. Each filter has two of them.
func pinkening(sampleRate float64) biquad.Chain {
	var c biquad.Chain
	at := func(f float64) float64 { return math.Exp(-2 * math.Pi * f / sampleRate) } // in the z plane
	for f := 10.0; f < sampleRate/4; f *= 16 {
		one := biquad.Filter{B0: 1, B1: -at(2 * f), A1: -at(f)}
		if next := 4 * f; next < sampleRate/4 {
			zero, pole := at(2*next), at(next)
			one.B1, one.B2 = one.B1-zero, -one.B1*zero
			one.A1, one.A2 = one.A1-pole, -one.A1*pole
		}
		c = append(c, one)
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
