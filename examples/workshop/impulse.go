package main

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/examples/workshop/bench"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// impulsePlot draws the deconvolved recording as a level: the response, the
// harmonics before it by their order, and the window.
func impulsePlot(r *bench.Result) plot.Plot {
	octave := r.Sweep.HarmonicAdvance(2)
	from, to := -r.Sweep.HarmonicAdvance(bench.Orders+1), 0.9*octave
	x, y := envelope(r, from, to)
	p := plot.Plot{
		ID: "impulse", Title: "The deconvolved impulse, its harmonics before it",
		Summary: fmt.Sprintf("The linear response is at zero, the second harmonic %.0f ms before it, the "+
			"third %.0f ms.",
			1000*octave, 1000*r.Sweep.HarmonicAdvance(3)),
		X: plot.Axis{Label: "Time re peak, harmonics by order", Unit: "ms",
			Min: 1000 * from, Max: 1000 * to, Ticks: places(r, to)},
		Y: plot.Axis{Label: "Magnitude re peak", Unit: "dB", Min: -120, Max: 0},
		Series: []plot.Series{{Name: "deconvolved recording, highest in each stretch", X: x, Y: y, Style: plot.Blue},
			windowSeries(r)},
		Notes: []string{"The part under the window becomes the response. The n-th harmonic is L ln n before " +
			"the peak, where L is the time in which the sweep rises by a factor of e."},
	}
	styles := []plot.Style{plot.Vermilion, plot.Green, plot.Violet, plot.Ochre}
	for n := 2; n <= bench.Orders; n++ {
		at := 1000 * r.Sweep.HarmonicAdvance(n)
		p.Series = append(p.Series, plot.Series{
			Name: signed(fmt.Sprintf("place of the %s harmonic, -%.0f ms", plot.Ordinal(n), at)), Kind: plot.Points,
			Style: styles[n-2],
			X:     []float64{-at}, Y: []float64{nearest(x, y, -at)},
		})
	}
	return p
}

// places returns the ticks of the time axis: the harmonics by order, the peak, and a round time
// after it.
func places(r *bench.Result, to float64) []plot.Tick {
	var out []plot.Tick
	for n := bench.Orders; n >= 2; n-- {
		out = append(out, plot.Tick{At: -1000 * r.Sweep.HarmonicAdvance(n), Label: plot.Ordinal(n), Strong: true})
	}
	later := math.Pow(10, math.Floor(math.Log10(1000*to)))
	for _, m := range []float64{5, 2} {
		if m*later < 1000*to {
			later *= m
			break
		}
	}
	return append(out, plot.Tick{At: 0, Label: "0", Strong: true}, plot.Tick{At: later, Label: fmt.Sprintf("+%g", later)})
}

// envelope returns the level re the peak in dB against time in ms: the largest magnitude in each of
// many columns.
func envelope(r *bench.Result, from, to float64) (x, y []float64) {
	const columns = 600
	h := r.Impulse
	index := func(t float64) int { return h.Zero + int(math.Round((t+r.Peak)*float64(h.SampleRate))) }
	peak := floats.Norm(h.Samples, math.Inf(1))
	for c := range columns {
		a, b := from+(to-from)*float64(c)/columns, from+(to-from)*float64(c+1)/columns
		var most float64
		for i := max(0, index(a)); i < min(index(b), len(h.Samples)); i++ {
			most = max(most, math.Abs(h.Samples[i]))
		}
		x, y = append(x, 500*(a+b)), append(y, decibel.OfAmplitude(most/peak)) // outside the recording it is not known
	}
	return x, y
}

// nearest returns the highest level within a column or two of a time, so that the mark is on the
// harmonic's peak.
func nearest(x, y []float64, at float64) float64 {
	most, near := math.NaN(), 3*(x[1]-x[0])
	for i, v := range y {
		if math.Abs(x[i]-at) <= near && !(v <= most) {
			most = v
		}
	}
	return most
}

// windowSeries returns the weights of the window, found by windowing a response of ones.
func windowSeries(r *bench.Result) plot.Series {
	before, after := r.Window()
	rate := r.Sweep.SampleRate()
	n := int((before+after).Seconds()*float64(rate)) + 2
	ones := &response.Impulse{Samples: make([]float64, n), SampleRate: rate, Zero: int(before.Seconds() * float64(rate)),
		Valid: response.AllFrequencies}
	for i := range ones.Samples {
		ones.Samples[i] = 1
	}
	w := ones.WindowAt(0, before, after)
	s := plot.Series{Name: "window", Style: plot.Ink}
	step := max(1, len(w.Samples)/400)
	for i := 0; i < len(w.Samples); i += step {
		if v := w.Samples[i]; v > 0 {
			s.X, s.Y = append(s.X, 1000*w.Time(i)), append(s.Y, decibel.OfAmplitude(v))
		}
	}
	return s
}
