package target

import (
	"math"

	"example.com/earnest/response"
)

// figure is a value whose uncertainty is not known.
func figure(value float64, unit string) response.Figure {
	return response.Figure{Value: value, Uncertainty: math.NaN(), Unit: unit}
}

// atLeastZero bounds what cannot be negative, and aPart what is a part of one.
var (
	atLeastZero = &[2]float64{0, math.Inf(1)}
	aPart       = &[2]float64{0, 1}
)
