package distortion

import (
	"math"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// Relative says what total harmonic distortion is stated relative to.
type Relative int

// Total harmonic distortion is stated relative to the fundamental by many
// makers, and to the total output, harmonics included, by IEC 60268-3 (from
// memory). The two differ by 0.5 % of the figure at 10 %.
const (
	ToFundamental Relative = iota
	ToTotal
)

// String names the reference in words.
func (r Relative) String() string {
	if r == ToTotal {
		return "relative to the total"
	}
	return "relative to the fundamental"
}

// THD is total harmonic distortion against the frequency of the fundamental.
type THD struct {
	// Relative says what the figures are relative to.
	Relative Relative
	// Fundamental in Hz.
	Fundamental []float64
	// Ratio of the root sum of squares of the harmonics to the reference, one
	// per fundamental; NaN where not even the second harmonic is known.
	Ratio []float64
	// Floor is the ratio that the floors of the same orders make together; nil
	// when they are not known.
	Floor []float64
	// Uncertainty is the standard uncertainty (k = 1) of the ratio as a level
	// in dB by reason of the floor; nil when that is not known.
	Uncertainty []float64
	// Highest is the highest order contained: all from the second to it are;
	// 0 where nothing is known.
	Highest []int
}

// THD sums the harmonics at each fundamental: all orders from the second up to
// the first that is not known there.
//
// With powers p relative to the fundamental and floors N² the uncertainty is
//
//	u = 20/ln 10 · √(Σ p N² / 2) / Σ p,
//
// what each order's own makes of their sum.
func (hs *HarmonicSet) THD(relative Relative) THD {
	n := len(hs.Fundamental)
	thd := THD{
		Relative:    relative,
		Fundamental: hs.Fundamental,
		Ratio:       make([]float64, n),
		Highest:     make([]int, n),
	}
	if len(hs.Orders) > 0 && hs.Orders[0].Floor != nil {
		thd.Floor, thd.Uncertainty = make([]float64, n), make([]float64, n)
	}
	for i := range hs.Fundamental {
		var s sum
		for _, o := range hs.Orders {
			if math.IsNaN(o.Level[i]) {
				break
			}
			s.add(o, i)
			thd.Highest[i] = o.N
		}
		thd.Ratio[i] = s.ratio(s.power, relative, thd.Highest[i])
		if thd.Floor != nil {
			thd.Floor[i] = s.ratio(s.floor, relative, thd.Highest[i])
			thd.Uncertainty[i] = s.uncertainty(relative)
		}
	}
	return thd
}

// sum is the power of harmonics relative to the fundamental.
type sum struct {
	power, floor, crossed float64 // Σ p, Σ N², Σ p N²
}

func (s *sum) add(o Order, i int) {
	p := decibel.Power(o.Level[i])
	s.power += p
	if o.Floor != nil {
		n := decibel.Power(o.Floor[i])
		s.floor += n
		s.crossed += p * n
	}
}

// ratio is the square root of a power over the reference's, the fundamental's
// own power being 1.
func (s *sum) ratio(power float64, relative Relative, highest int) float64 {
	switch {
	case highest == 0:
		return math.NaN()
	case relative == ToTotal:
		return math.Sqrt(power / (1 + s.power))
	}
	return math.Sqrt(power)
}

func (s *sum) uncertainty(relative Relative) float64 {
	u := decibel.PerNeper * math.Sqrt(s.crossed/2) / s.power
	if relative == ToTotal {
		u /= 1 + s.power // the reference grows with the harmonics
	}
	return u
}

// Curve is the distortion as a level in dB.
func (t THD) Curve() response.Curve {
	level := decibels(t.Ratio)
	return response.Curve{
		Frequency: t.Fundamental, Level: level, Uncertainty: t.Uncertainty,
		Reference: "total harmonic distortion " + t.Relative.String(),
		Valid:     known(t.Fundamental, level),
	}
}

// Figure is the distortion as a level in dB at the fundamental f Hz,
// interpolated like a curve.
func (t THD) Figure(f float64) Figure {
	var floor []float64
	if t.Floor != nil {
		floor = decibels(t.Floor)
	}
	return figureAt(t.Fundamental, decibels(t.Ratio), floor, t.Uncertainty, f)
}

// Percent is the distortion in per cent, interpolated at the fundamental f Hz
// like a level; NaN where it is not known.
func (t THD) Percent(f float64) float64 { return 100 * decibel.Amplitude(t.Curve().At(f)) }

func decibels(ratio []float64) []float64 {
	level := make([]float64, len(ratio))
	for i, r := range ratio {
		level[i] = decibel.OfAmplitude(r)
	}
	return level
}
