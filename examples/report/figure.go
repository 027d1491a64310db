package report

import (
	"math"

	"example.com/earnest/response"
)

// Figure is a value with how sure it is.
type Figure struct {
	Value Number `json:"value"`
	// Uncertainty is standard (k = 1); HalfWidth95 is half of the interval that
	// holds the true value with 95 % confidence, which the page has after ±.
	Uncertainty Number `json:"uncertainty"`
	HalfWidth95 Number `json:"half_width_95"`
	// DegreesOfFreedom is the degrees of freedom of the uncertainty; 0 stands for many.
	DegreesOfFreedom Number `json:"freedom"`
	Unit             string `json:"unit"`
}

func figure(f response.Figure) Figure {
	out := Figure{Value: Number(f.Value), Uncertainty: Number(f.Uncertainty), DegreesOfFreedom: Number(f.DegreesOfFreedom), Unit: f.Unit}
	out.HalfWidth95 = Number(halfWidth(out))
	return out
}

func halfWidth(f Figure) float64 {
	return coverage(float64(f.DegreesOfFreedom)) * float64(f.Uncertainty)
}

// coverage is the factor from a standard uncertainty to half the interval of
// 95 %: Student's t, or 1.96 where the degrees of freedom are many.
func coverage(freedom float64) float64 {
	if math.IsInf(freedom, 1) {
		freedom = 0
	}
	return response.Figure{DegreesOfFreedom: freedom}.Coverage((1 + confidence) / 2)
}

// confidence is the probability of every interval on the page.
const confidence = 0.95

// halfWidths are those of standard uncertainties that many degrees of freedom
// stand behind; nil when these are not known.
func halfWidths(u []float64) []float64 {
	if u == nil {
		return nil
	}
	return scaled(u, coverage(0))
}
