package main

import (
	"fmt"
	"math"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/examples/workshop/bench"
	"example.com/earnest/internal/decibel"
)

// recordingPlot draws the waveform: in each of many columns its lowest and
// highest sample.
func recordingPlot(r *bench.Result) plot.Plot {
	const columns = 600
	rate, n := float64(r.Sweep.SampleRate()), len(r.Recording)
	x, y := make([]float64, 0, 2*columns), make([]float64, 0, 2*columns)
	var peak float64
	for c := range columns {
		from, to := c*n/columns, (c+1)*n/columns
		low, high := math.Inf(1), math.Inf(-1)
		for _, v := range r.Recording[from:to] {
			low, high = min(low, v), max(high, v)
		}
		at := float64(from)/rate - r.Lead
		x, y = append(x, at, at+0.5*float64(to-from)/rate), append(y, low, high)
		peak = max(peak, -low, high)
	}
	top := 1.0
	for _, t := range []float64{0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5} {
		if peak <= t {
			top = t
			break
		}
	}
	return plot.Plot{
		ID: "recording", Title: "The recording",
		Summary: fmt.Sprintf("The waveform of the sweep through the headphones; its peak is at %s dBFS.",
			signed(fmt.Sprintf("%.1f", decibel.OfAmplitude(peak)))),
		X:      plot.Axis{Label: "Time from the beginning of the sweep", Unit: "s", Min: x[0], Max: x[len(x)-1]},
		Y:      plot.Axis{Label: "Sample value, full scale = 1", Min: -top, Max: top},
		Series: []plot.Series{{Name: "recording of the sweep", X: x, Y: y, Style: plot.Blue, Kind: plot.Impulse}},
		Notes: []string{"The lowest and the highest sample in each interval. The timing marks, used to " +
			"compare the clocks, come before and after."},
	}
}
