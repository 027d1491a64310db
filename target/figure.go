package target

import (
	"math"

	"example.com/earnest/response"
)

// Figure is a result with its unit and how sure it is.
type Figure = response.Figure

// figure is a value whose uncertainty is not known.
func figure(value float64, unit string) Figure {
	return Figure{Value: value, Uncertainty: math.NaN(), Unit: unit}
}

// atLeastZero bounds what cannot be negative, and aPart what is a part of one.
var (
	atLeastZero = &[2]float64{0, math.Inf(1)}
	aPart       = &[2]float64{0, 1}
)
