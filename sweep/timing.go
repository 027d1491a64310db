package sweep

import "math"

// TimeConstant returns L, the time in seconds in which the frequency grows by a factor of e:
// f(t) = f1 exp(t/L). One octave takes L ln 2.
func (s *Sweep) TimeConstant() float64 { return s.timeConstant }

// Duration returns the actual length, T = L ln(f2/f1), in seconds. It is the requested length,
// rounded so that f1 L is a whole number, unless Config has a TimeConstant.
func (s *Sweep) Duration() float64 { return s.timeConstant * math.Log(s.stop/s.start) }

// FrequencyAt returns the frequency in Hz at t seconds, NaN before and after the sweep.
func (s *Sweep) FrequencyAt(t float64) float64 {
	if !(t >= 0 && t <= s.Duration()) {
		return math.NaN()
	}
	return s.start * math.Exp(t/s.timeConstant)
}

// TimeAt returns the time in seconds at which the sweep passes f Hz, NaN for a frequency outside
// its band.
func (s *Sweep) TimeAt(f float64) float64 {
	if !(f >= s.start && f <= s.stop) {
		return math.NaN()
	}
	return s.timeConstant * math.Log(f/s.start)
}

// PhaseAt returns the phase φ(t) of the sine in radians, NaN outside the sweep. The n-th harmonic
// of a memoryless device is a multiple of sin(n φ(t)) or cos(n φ(t)).
func (s *Sweep) PhaseAt(t float64) float64 {
	if !(t >= 0 && t <= s.Duration()) {
		return math.NaN()
	}
	return 2 * math.Pi * s.cyclesAt(t)
}

func (s *Sweep) cyclesAt(t float64) float64 {
	return s.start*s.timeConstant*math.Expm1(t/s.timeConstant) + s.phase
}

// Asynchrony returns the phase in radians, −π to π, of each harmonic's response relative to that of
// the one below it: the n-th harmonic of sin φ(t) is sin nφ(t), and
//
//	n φ(t) = φ(t + L ln n) + (n−1)(φ0 − 2π f1 L).
//
// It is 0 for a synchronised sweep.
func (s *Sweep) Asynchrony() float64 {
	turns := s.phase - s.start*s.timeConstant
	if turns -= math.Round(turns); math.Abs(turns) < 1e-12 {
		return 0 // the rounding of a whole number of turns
	}
	return 2 * math.Pi * turns
}

// HarmonicAdvance returns the time in seconds, L ln n, by which the impulse response of the n-th
// harmonic precedes the linear one after deconvolution, since the harmonic reaches each frequency
// earlier than the sweep by this time (Farina 2000). It panics if n < 1.
func (s *Sweep) HarmonicAdvance(n int) float64 {
	if n < 1 {
		panic("sweep: harmonics count from 1, the fundamental")
	}
	return s.timeConstant * math.Log(float64(n))
}
