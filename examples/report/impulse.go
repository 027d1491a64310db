package report

import (
	"fmt"
	"math"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response"
	"example.com/earnest/target/review"
)

// impulsePlot draws the impulse response of the headphones alone.
func impulsePlot(r *review.Results) plot.Plot {
	p := plot.Plot{
		ID: "impulse", Title: "Impulse response",
		X: plot.Axis{Label: "Time", Unit: "ms", Min: -1, Max: 5},
		Y: plot.Axis{Label: "Amplitude re largest", Unit: "", Min: -1.1, Max: 1.1},
		Notes: []string{fmt.Sprintf("Headphones alone, band-limited to %v, largest value at zero time and set to 1.",
			r.Mean.Valid)},
	}
	for _, side := range r.Sides() {
		h := side.Seatings[0].Transfer.Impulse()
		x, y := around(h, p.X.Min/1000, p.X.Max/1000)
		p.Series = append(p.Series, plot.Series{Name: side.Name, X: x, Y: y, Style: sideStyle[side.Name], Kind: plot.Impulse})
	}
	p.Summary = "The impulse responses of the sides, from 1 ms before their largest value to 5 ms after it."
	return p
}

// stepPlot draws the step response of the headphones alone.
func stepPlot(r *review.Results) plot.Plot {
	p := plot.Plot{
		ID: "step", Title: "Step response",
		X:       plot.Axis{Label: "Time", Unit: "ms", Min: -1, Max: 10},
		Y:       plot.Axis{Label: "Amplitude re largest", Unit: "", Min: -1.1, Max: 1.1},
		Summary: "The step responses of the sides, from 1 ms before the edge to 10 ms after it.",
		Notes: []string{fmt.Sprintf(
			"The running sum of the impulse response, first seating, largest value set to 1. Only %v is known: "+
				"without what lies below, the curve swings slowly about zero, before the edge too.",
			r.Mean.Valid)},
	}
	for _, side := range r.Sides() {
		h := side.Seatings[0].Transfer.Impulse()
		step := *h
		step.Samples = h.Step(nil)
		x, y := around(&step, p.X.Min/1000, p.X.Max/1000)
		p.Series = append(p.Series, plot.Series{Name: side.Name, X: x, Y: y, Style: sideStyle[side.Name], Kind: plot.Impulse})
	}
	return p
}

// around is the part of an impulse response between two times in seconds, in
// milliseconds and re its largest magnitude.
func around(h *response.Impulse, from, to float64) (x, y []float64) {
	var largest float64
	for i, v := range h.Samples {
		if t := h.Time(i); t >= from && t <= to {
			x = append(x, 1000*t)
			y = append(y, v)
			largest = max(largest, math.Abs(v))
		}
	}
	for i := range y {
		y[i] /= largest
	}
	return x, y
}
