package sweep

import "math"

// TimeConstant is L, the seconds in which the frequency grows by a factor of e:
// f(t) = f1 exp(t/L). One octave takes L ln 2.
func (s *Sweep) TimeConstant() float64 { return s.timeConstant }

// Duration is the length made, T = L ln(f2/f1), in seconds. It is the wanted
// one rounded so that f1 L is a whole number.
func (s *Sweep) Duration() float64 { return s.timeConstant * math.Log(s.stop/s.start) }

// FrequencyAt is the frequency in Hz at t seconds; NaN before the sweep and
// after it.
func (s *Sweep) FrequencyAt(t float64) float64 {
	if !(t >= 0 && t <= s.Duration()) {
		return math.NaN()
	}
	return s.start * math.Exp(t/s.timeConstant)
}

// TimeAt is the time in seconds at which the sweep passes f Hz; NaN for a
// frequency that it does not pass.
func (s *Sweep) TimeAt(f float64) float64 {
	if !(f >= s.start && f <= s.stop) {
		return math.NaN()
	}
	return s.timeConstant * math.Log(f/s.start)
}

// PhaseAt is the phase φ(t) of the sine in radians; the n-th harmonic that a
// memoryless device adds is a multiple of sin(n φ(t)) or cos(n φ(t)). It is
// NaN outside the sweep.
func (s *Sweep) PhaseAt(t float64) float64 {
	if !(t >= 0 && t <= s.Duration()) {
		return math.NaN()
	}
	return 2 * math.Pi * s.cyclesAt(t)
}

func (s *Sweep) cyclesAt(t float64) float64 {
	return s.start * s.timeConstant * math.Expm1(t/s.timeConstant)
}

// HarmonicAdvance is the time in seconds, L ln n, by which the impulse
// response of the n-th harmonic leads the linear one once the sweep is
// deconvolved: the harmonic reaches each frequency that much earlier than the
// sweep itself does (Farina 2000). It panics if n < 1.
func (s *Sweep) HarmonicAdvance(n int) float64 {
	if n < 1 {
		panic("sweep: harmonics count from 1, the fundamental")
	}
	return s.timeConstant * math.Log(float64(n))
}
