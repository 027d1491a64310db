package tone

import (
	"fmt"
	"math"

	"example.com/earnest/internal/decibel"
)

// Figure is a value with its standard uncertainty (k = 1), both in the unit that
// the field holding the figure states. NaN is a value that is not known.
type Figure struct {
	Value, Uncertainty float64 // not known: NaN
}

// Known tells whether there is a value.
func (f Figure) Known() bool { return !math.IsNaN(f.Value) }

// String writes the value and its standard uncertainty, "3 with u = 0.1", or "not known".
func (f Figure) String() string {
	if !f.Known() {
		return "not known"
	}
	return fmt.Sprintf("%.5g with u = %.2g", f.Value, f.Uncertainty)
}

var notKnown = Figure{math.NaN(), math.NaN()}

// inDecibels is an amplitude ratio as a level in dB; nothing has no level.
func (f Figure) inDecibels() Figure {
	if !(f.Value > 0) {
		return notKnown
	}
	return Figure{decibel.PerNeper * math.Log(f.Value), decibel.PerNeper * f.Uncertainty / f.Value}
}

// over divides by a figure whose error is independent.
func (f Figure) over(g Figure) Figure {
	return Figure{f.Value / g.Value, math.Hypot(f.Uncertainty, f.Value/g.Value*g.Uncertainty) / g.Value}
}

// ofTotal turns a ratio to the fundamental, r, into one to the total of both,
// r/√(1 + r²).
func (f Figure) ofTotal() Figure {
	root := math.Sqrt(1 + f.Value*f.Value)
	return Figure{f.Value / root, f.Uncertainty / (root * root * root)}
}

// rootSum is the root of the sum of the squares of independent figures.
func rootSum(figures []Figure) Figure {
	var square, u float64
	for _, f := range figures {
		square += f.Value * f.Value
		u = math.Hypot(u, f.Value*f.Uncertainty)
	}
	if square == 0 {
		return Figure{}
	}
	return Figure{math.Sqrt(square), u / math.Sqrt(square)}
}

// plainSum is the sum of independent figures.
func plainSum(figures []Figure) Figure {
	var sum Figure
	for _, f := range figures {
		sum.Value += f.Value
		sum.Uncertainty = math.Hypot(sum.Uncertainty, f.Uncertainty)
	}
	return sum
}

// wrap brings an angle into (−π, π].
func wrap(phase float64) float64 {
	phase = math.Remainder(phase, 2*math.Pi)
	if phase <= -math.Pi {
		phase += 2 * math.Pi
	}
	return phase
}
