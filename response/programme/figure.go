package programme

import (
	"math"

	"example.com/earnest/response"
)

// Figure is a result with its unit and its standard uncertainty.
type Figure = response.Figure

func unknown(unit string) Figure {
	return Figure{Value: math.NaN(), Uncertainty: math.NaN(), Unit: unit}
}
