package target

import (
	"fmt"
	"math"

	"example.com/earnest/response"
)

// Excursion is where the response strays furthest from its target.
type Excursion struct {
	// Level is the deviation there, in dB, with its sign.
	Level Figure
	// Frequency in Hz; NaN when nothing is known.
	Frequency float64
	// Band is the stretch about Frequency over which the deviation keeps at
	// least half of Level, without a break. It ends where the judged band or
	// what is known ends.
	Band response.Band
}

// String says it in a sentence's part: "−6.20 dB at 3.15 kHz (half of it from 2.8 kHz–3.5 kHz)".
func (e Excursion) String() string {
	if !e.Level.Known() {
		return "not known"
	}
	return fmt.Sprintf("%+.2f dB at %s (at least half of it over %v)", e.Level.Value, response.FormatFrequency(e.Frequency), e.Band)
}

// widest finds the largest deviation, which lies at a point since the
// difference is straight between them. Where the weight is zero it is not judged.
func widest(points []point, w Weight) Excursion {
	top := -1
	for i, p := range points {
		if math.IsNaN(p.d) || top >= 0 && math.Abs(p.d) <= math.Abs(points[top].d) {
			continue
		}
		joined := i > 0 && !math.IsNaN(points[i-1].d) || i+1 < len(points) && !math.IsNaN(points[i+1].d)
		if joined && w(p.f) > 0 {
			top = i
		}
	}
	if top < 0 {
		return Excursion{Level: figure(math.NaN(), "dB"), Frequency: math.NaN()}
	}
	level := points[top].d
	return Excursion{
		Level:     figure(level, "dB"),
		Frequency: points[top].f,
		Band: response.Band{
			Low:  halfway(points, top, -1),
			High: halfway(points, top, +1),
		},
	}
}

// halfway walks from points[top] in steps of ±1 until the deviation falls below
// half, and returns the frequency in Hz of that place.
func halfway(points []point, top, step int) float64 {
	half := points[top].d / 2
	i := top
	for next := i + step; next >= 0 && next < len(points) && !math.IsNaN(points[next].d); next += step {
		// Divided by half, both signs are alike and 1 is half-way down.
		a, b := points[i].d/half-1, points[next].d/half-1
		if b < 0 {
			return points[i].towards(points[next], a/(a-b)).f
		}
		i = next
	}
	return points[i].f
}
