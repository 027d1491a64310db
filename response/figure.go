package response

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"example.com/earnest/internal/statistic"
)

// Figure is a result with its unit and its uncertainty. The zero Figure is not known.
type Figure struct {
	// Value is NaN if it is not known. It has no meaning without a Unit.
	Value float64
	// Uncertainty is the standard uncertainty (k = 1) in the same unit. It is NaN if it is not
	// known, which is not the same as zero.
	Uncertainty float64
	// DegreesOfFreedom are those of Uncertainty; 0 means infinitely many.
	DegreesOfFreedom float64
	// Unit is as printed: "dB", "dB/octave"; "1" for a plain ratio. A Figure without a unit is not
	// known.
	Unit string
	// Budget holds the components of Uncertainty; nil if they are not known. It is shared and must
	// not be changed.
	Budget Budget

	// bounds are the lowest and highest values that the quantity can have, for Interval.
	bounds *[2]float64
	ends   Ends // nil for Student's interval
}

// NotKnown returns a figure with a unit but without a value.
func NotKnown(unit string) Figure {
	return Figure{Value: math.NaN(), Uncertainty: math.NaN(), Unit: unit}
}

// WithEnds returns the figure with its own interval in place of Student's.
func (f Figure) WithEnds(e Ends) Figure {
	f.ends = e
	return f
}

// Even reports whether the intervals of the figure are symmetric about Value: no ends were set.
func (f Figure) Even() bool { return f.ends == nil }

// Known reports whether the figure has a value: a number that is not NaN, and a unit.
func (f Figure) Known() bool { return f.Unit != "" && !math.IsNaN(f.Value) }

// WithBounds returns the figure of a quantity that cannot lie below low or above high. An rms, for
// example, cannot lie below zero.
func (f Figure) WithBounds(low, high float64) Figure {
	f.bounds = &[2]float64{low, high}
	return f
}

// Bounded reports whether WithBounds has set bounds.
func (f Figure) Bounded() bool { return f.bounds != nil }

// Interval returns the ends of the interval that holds the true value with a probability such as
// 0.95. It is Value ± t·Uncertainty, t from Student's distribution with DegreesOfFreedom (JCGM
// 100:2008, G.3), or the interval set by WithEnds, cut at the bounds set by WithBounds. The ends
// are NaN if the figure or its uncertainty is not known. Interval panics unless 0 < probability <
// 1.
func (f Figure) Interval(probability float64) (low, high float64) {
	checkProbability(probability)
	if !f.Known() {
		return math.NaN(), math.NaN()
	}
	half := f.Coverage((1+probability)/2) * f.Uncertainty
	low, high = f.Value-half, f.Value+half
	if f.ends != nil {
		low, high = f.ends.Ends(probability)
	}
	if f.bounds != nil {
		low, high = max(low, f.bounds[0]), min(high, f.bounds[1])
	}
	return low, high
}

// Coverage returns the factor from Uncertainty to the end of the one-sided interval of a
// probability: the quantile of Student's distribution with DegreesOfFreedom, or of the normal one
// if these are many. It is infinite below a hundredth of a degree of freedom, whose 95 % quantile
// is 10^100. Coverage panics unless 0 < probability < 1.
func (f Figure) Coverage(probability float64) float64 {
	checkProbability(probability)
	const fewest = 0.01
	if f.DegreesOfFreedom > 0 && f.DegreesOfFreedom < fewest && probability != 0.5 {
		return math.Copysign(math.Inf(1), probability-0.5)
	}
	if f.DegreesOfFreedom > 0 {
		return statistic.StudentQuantile(probability, f.DegreesOfFreedom)
	}
	return distuv.UnitNormal.Quantile(probability)
}

// String formats the figure for a reader: "1.37 dB", or with its standard uncertainty "1.37 dB with
// u = 0.12 dB", since ± is kept for intervals (JCGM 100:2008, 7.2.2). The uncertainty has two
// significant digits and the value as many decimals (7.2.6); a value alone has four significant
// digits.
func (f Figure) String() string {
	switch {
	case !f.Known():
		return "not known"
	case f.sure():
		decimals := f.decimals()
		return fmt.Sprintf("%s with u = %.*f%s", f.plain(decimals), decimals, f.Uncertainty, f.unit())
	}
	return fmt.Sprintf("%.4g%s", f.Value, f.unit())
}

// WithInterval formats the figure with its interval: "1.37 dB (95 % confidence: 1.11 to 1.63 dB)".
// Half of the interval's width has two significant digits, and the others as many decimals (7.2.6).
// Without an uncertainty it is the same as String.
func (f Figure) WithInterval(probability float64) string {
	if !f.sure() {
		return f.String()
	}
	low, high := f.Interval(probability)
	decimals := max(0, 1-int(math.Floor(math.Log10((high-low)/2))))
	return fmt.Sprintf("%s (%.3g %% confidence: %.*f to %.*f%s)", f.plain(decimals), 100*probability, decimals, low,
		decimals, high, f.unit())
}

// sure reports whether there is an uncertainty to print. A value from rounding alone does not
// count.
func (f Figure) sure() bool {
	const rounding = 1e-13 // of the value
	return f.Known() && f.Uncertainty > rounding*math.Abs(f.Value) && !math.IsInf(f.Uncertainty, 0)
}

func (f Figure) decimals() int { return max(0, 1-int(math.Floor(math.Log10(f.Uncertainty)))) }

func (f Figure) plain(decimals int) string {
	if !f.Known() {
		return "not known"
	}
	return fmt.Sprintf("%.*f%s", decimals, f.Value, f.unit())
}

func (f Figure) unit() string {
	if f.Unit == "" || f.Unit == "1" {
		return ""
	}
	return " " + f.Unit
}

// Ends computes the ends of an interval that holds the true value with a probability and is not
// symmetric about the value. It may ignore the figure's bounds.
type Ends interface {
	Ends(probability float64) (low, high float64)
}

func checkProbability(p float64) {
	if !(p > 0 && p < 1) {
		panic("response: a probability lies between 0 and 1")
	}
}
