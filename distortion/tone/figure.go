package tone

import (
	"math"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// figure returns a value in a unit with its standard uncertainty.
func figure(value, uncertainty float64, unit string) response.Figure {
	return response.Figure{Value: value, Uncertainty: uncertainty, Unit: unit}
}

// ratio returns a plain number, such as an amplitude with full scale 1.
func ratio(value, uncertainty float64) response.Figure { return figure(value, uncertainty, "1") }

// inDecibels returns a ratio of amplitudes as a level; a ratio of zero has no level.
func inDecibels(f response.Figure, unit string) response.Figure {
	if !(f.Value > 0) {
		return response.NotKnown(unit)
	}
	return figure(decibel.PerNeper*math.Log(f.Value), decibel.PerNeper*f.Uncertainty/f.Value, unit)
}

// over returns f divided by g, whose errors are independent.
func over(f, g response.Figure) response.Figure {
	return ratio(f.Value/g.Value, math.Hypot(f.Uncertainty, f.Value/g.Value*g.Uncertainty)/g.Value)
}

// rootSum returns the root of the sum of the squares of independent figures.
func rootSum(figures []response.Figure) response.Figure {
	var square, u float64
	for _, f := range figures {
		square += f.Value * f.Value
		u = math.Hypot(u, f.Value*f.Uncertainty)
	}
	if square == 0 {
		return ratio(0, 0)
	}
	return ratio(math.Sqrt(square), u/math.Sqrt(square))
}

// wrap returns the angle in (−π, π].
func wrap(phase float64) float64 {
	phase = math.Remainder(phase, 2*math.Pi)
	if phase <= -math.Pi {
		phase += 2 * math.Pi
	}
	return phase
}
