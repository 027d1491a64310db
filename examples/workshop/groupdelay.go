package main

import (
	"example.com/earnest/examples/report/plot"
	"example.com/earnest/examples/workshop/bench"
)

// groupDelayPlot draws the group delay of the first seating.
func groupDelayPlot(r *bench.Result) (plot.Plot, error) {
	x, factor := frequencyAxis(r)
	delay, err := r.GroupDelay()
	frequency := make([]float64, len(bench.Grid))
	for i, f := range bench.Grid {
		frequency[i] = f * factor
	}
	return plot.Plot{
		ID: "group-delay", Title: "The group delay", X: x,
		Summary: "How much later than the peak each frequency arrives in the first seating: " +
			"more where the level falls steeply or a resonance rings, and at random where noise is high.",
		Y:       plot.Axis{Label: "Group delay re peak", Unit: "ms", Min: -5, Max: 20},
		Unknown: notKnown(x, factor, r.Response.Valid),
		Series:  []plot.Series{{Name: "first seating", X: frequency, Y: delay, Style: plot.Blue}},
		Notes: []string{"Minus the slope of the phase over angular frequency, " +
			"from one bin to the next but one. The window limits it: sound after the window is not included."},
	}, err
}
