package report

import (
	"math"

	"example.com/earnest/response"
)

// figureJSON is a figure in results.json. Uncertainty is standard (k = 1); HalfWidth95 is half of
// the interval that contains the true value with 95 % confidence, the figure after ± on the page.
// Low95 and High95 are its ends, which need not be symmetrical about the value. Freedom is the
// degrees of freedom of the uncertainty; 0 means many.
type figureJSON struct {
	Value       number `json:"value"`
	Uncertainty number `json:"uncertainty"`
	HalfWidth95 number `json:"half_width_95"`
	Low95       number `json:"low_95"`
	High95      number `json:"high_95"`
	Freedom     number `json:"freedom"`
	Unit        string `json:"unit"`
}

func newFigure(f response.Figure) figureJSON {
	if !f.Known() {
		f.Value = math.NaN() // as for the zero Figure
	}
	low, high := f.Interval(confidence)
	return figureJSON{number(f.Value), number(f.Uncertainty), number(halfWidth(f)), number(low), number(high),
		number(f.DegreesOfFreedom), f.Unit}
}

// confidence is the probability of every interval on the page.
const confidence = 0.95

// halfWidth returns half of the 95 % interval of a figure: the standard uncertainty times Student's
// t, or times 1.96 with many degrees of freedom.
func halfWidth(f response.Figure) float64 {
	if !f.Even() {
		low, high := f.Interval(confidence)
		return (high - low) / 2
	}
	if math.IsInf(f.DegreesOfFreedom, 1) {
		f.DegreesOfFreedom = 0
	}
	return f.Coverage((1+confidence)/2) * f.Uncertainty
}

// halfWidths returns half of the 95 % intervals of standard uncertainties with many degrees of
// freedom; nil if they are not known.
func halfWidths(u []float64) []float64 {
	if u == nil {
		return nil
	}
	return scaled(u, response.Figure{}.Coverage((1+confidence)/2))
}
