package target

import (
	"fmt"
	"math"
)

// Figure is a result with its unit and how sure it is.
type Figure struct {
	// Value is NaN when it is not known.
	Value float64
	// Uncertainty is the standard uncertainty (k = 1) in the same unit; NaN
	// when it is not known, which is not the same as zero.
	Uncertainty float64
	// Unit is as printed: "dB", "dB/octave"; "1" for a plain ratio.
	Unit string
}

// figure is a value whose uncertainty is not known.
func figure(value float64, unit string) Figure {
	return Figure{Value: value, Uncertainty: math.NaN(), Unit: unit}
}

// Known tells whether the figure has a value.
func (f Figure) Known() bool { return !math.IsNaN(f.Value) }

// WithUncertainty returns the figure with standard uncertainty u.
func (f Figure) WithUncertainty(u float64) Figure {
	f.Uncertainty = u
	return f
}

// String writes the figure for a reader: "1.37 dB", or with its uncertainty
// "1.37 dB (standard uncertainty 0.12 dB)". The uncertainty has two significant
// digits and the value as many decimals (JCGM 100:2008, 7.2.6); a value alone
// has two decimals.
func (f Figure) String() string {
	if !f.Known() {
		return "not known"
	}
	unit := ""
	if f.Unit != "" && f.Unit != "1" {
		unit = " " + f.Unit
	}
	if !(f.Uncertainty > 0) || math.IsInf(f.Uncertainty, 0) {
		return fmt.Sprintf("%.2f%s", f.Value, unit)
	}
	decimals := max(0, 1-int(math.Floor(math.Log10(f.Uncertainty))))
	return fmt.Sprintf("%.*f%s (standard uncertainty %.*f%s)", decimals, f.Value, unit, decimals, f.Uncertainty, unit)
}
