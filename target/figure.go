package target

import (
	"math"

	"example.com/earnest/response"
)

// figure returns a value whose uncertainty is not known.
func figure(value float64, unit string) response.Figure {
	return response.Figure{Value: value, Uncertainty: math.NaN(), Unit: unit}
}
