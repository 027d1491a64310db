package report

import (
	"math"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response"
	"example.com/earnest/target/review"
)

// impulsePlot draws the impulse response of the headphones alone.
func (l language) impulsePlot(r *review.Results) plot.Plot {
	p := plot.Plot{
		ID: "impulse", Title: l.Text("plot.impulse"),
		X:     plot.Axis{Label: l.Text("axis.time"), Unit: "ms", Min: -1, Max: 5},
		Y:     plot.Axis{Label: l.Text("axis.amplitude"), Unit: "", Min: -1.1, Max: 1.1},
		Notes: []string{l.Text("impulse.note", l.Band(r.Mean.Valid))},
	}
	for _, side := range r.Sides() {
		h := side.Seatings[0].Transfer.Impulse()
		x, y := around(h, p.X.Min/1000, p.X.Max/1000)
		p.Series = append(p.Series, plot.Series{Name: l.Side(side.Name), X: x, Y: y, Style: sideStyle[side.Name],
			Kind: plot.Impulse})
	}
	p.Summary = l.Text("impulse.summary")
	return p
}

// stepPlot draws the step response of the headphones alone.
func (l language) stepPlot(r *review.Results) plot.Plot {
	p := plot.Plot{
		ID: "step", Title: l.Text("plot.step"),
		X:       plot.Axis{Label: l.Text("axis.time"), Unit: "ms", Min: -1, Max: 10},
		Y:       plot.Axis{Label: l.Text("axis.amplitude"), Unit: "", Min: -1.1, Max: 1.1},
		Summary: l.Text("step.summary"),
		Notes:   []string{l.Text("step.note", l.Band(r.Mean.Valid))},
	}
	for _, side := range r.Sides() {
		h := side.Seatings[0].Transfer.Impulse()
		step := *h
		step.Samples = h.Step(nil)
		x, y := around(&step, p.X.Min/1000, p.X.Max/1000)
		p.Series = append(p.Series, plot.Series{Name: l.Side(side.Name), X: x, Y: y, Style: sideStyle[side.Name],
			Kind: plot.Impulse})
	}
	return p
}

// around returns the part of an impulse response between two times in seconds, with times in ms and
// values re its largest magnitude.
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
