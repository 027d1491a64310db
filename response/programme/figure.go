package programme

import (
	"fmt"
	"math"
)

// Figure is a result with its standard uncertainty (k = 1), both NaN where not
// known.
type Figure struct {
	Value, Uncertainty float64
	Unit               string // as printed: "dB", "Hz"
}

// Known tells whether the figure has a value.
func (f Figure) Known() bool { return !math.IsNaN(f.Value) }

func unknown(unit string) Figure { return Figure{math.NaN(), math.NaN(), unit} }

// String writes the figure for a reader: "1.37 dB", or with its uncertainty
// "1.37 ± 0.12 dB", of which the second number is the standard uncertainty to
// two significant digits (JCGM 100:2008, 7.2.6).
func (f Figure) String() string {
	if !f.Known() {
		return "not known"
	}
	if !(f.Uncertainty > 0) || math.IsInf(f.Uncertainty, 0) {
		return fmt.Sprintf("%.2f %s", f.Value, f.Unit)
	}
	decimals := max(0, 1-int(math.Floor(math.Log10(f.Uncertainty))))
	return fmt.Sprintf("%.*f ± %.*f %s", decimals, f.Value, decimals, f.Uncertainty, f.Unit)
}
