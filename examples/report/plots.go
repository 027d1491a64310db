package report

import (
	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response"
	"example.com/earnest/target/review"
)

// sideStyle is the style of each side, the same in every plot.
var sideStyle = map[string]plot.Style{"left": plot.Blue, "right": plot.Vermilion}

// shading returns the note on the shaded band of a curve that is not a mean of seatings; nil
// without a band.
func (l language) shading(uncertainty []float64) []string {
	if uncertainty == nil {
		return nil
	}
	return []string{l.Text("plot.shaded")}
}

// plots returns the plots that have data, by id.
func (l language) plots(r *review.Results) map[string]plot.Plot {
	j := r.Judgement
	all := []plot.Plot{l.responsePlot(r, true), l.responsePlot(r, false), l.seatingsPlot(r), l.budgetPlot(r)}
	all = append(all, l.changePlots(r)...)
	if r.Config.Stimulus != nil {
		all = append(all, l.impulsePlot(r), l.stepPlot(r))
		for _, side := range r.Sides() {
			all = append(all, l.decayPlot(side))
		}
	}
	if len(r.Difference.Level) > 0 {
		all = append(all, l.matchPlot(r))
	}
	for _, side := range r.Sides() {
		if r.Config.Stimulus == nil || r.Config.Stimulus.Sweep() == nil {
			break // not known with this stimulus
		}
		bySweep := l.distortionPlot(side, r.Config.Stimulus.Level())
		all = append(all, bySweep, inPercent(bySweep))
	}
	all = append(all, l.furtherPlots(r)...)
	if j.Ranking != nil {
		all = append(all, l.rivalsPlot(r), l.rivalDifferencePlot(r))
	}
	if r.Impedance != nil {
		all = append(all, l.impedancePlot(r))
	}
	if r.OutputLoss != nil {
		all = append(all, l.outputLossPlot(r))
	}
	if r.Isolation != nil {
		all = append(all, l.isolationPlot(r))
	}
	if r.SoundLeakage != nil {
		all = append(all, l.spillPlot(r))
	}
	if j.Correction != nil && len(j.Correction.Filters) > 0 {
		all = append(all, l.correctionPlot(j.Correction))
	}
	shown := map[string]bool{}
	for i, p := range r.Programmes {
		if p.Comparison != nil {
			all = append(all, l.programmePlot(i, p, true), l.programmePlot(i, p, false))
			name := p.Name + "\n" + p.Side
			if shown[name] { // of another seating, which only a response from material distinguishes
				continue
			}
			shown[name] = true
			all = append(all, l.spectraPlot(i, p, true), l.spectraPlot(i, p, false), l.changesPlot(i, p))
			all = append(all, l.spectrogramPlots(i, p)...)
			if len(p.Residuals) > 0 {
				all = append(all, l.residualPlot(i, p))
			}
		}
	}
	out := map[string]plot.Plot{}
	for _, p := range all {
		if !p.Empty() {
			out[p.ID] = p
		}
	}
	return out
}

// curve returns a curve as a series, with half of its interval on either side; half is nil for
// none.
func curve(name string, c response.Curve, half []float64, style plot.Style) plot.Series {
	s := plot.Series{Name: name, X: c.Frequency, Y: c.Level, Style: style}
	if half != nil {
		s.Low, s.High = make([]float64, len(c.Level)), make([]float64, len(c.Level))
		for i, v := range c.Level {
			s.Low[i], s.High[i] = v-half[i], v+half[i]
		}
	}
	return s
}

func scaled(x []float64, by float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = v * by
	}
	return out
}

// levelAxis returns an axis in dB in whole steps that holds the series. It reaches at least least
// above and below zero, and at most four times that.
func levelAxis(label string, x plot.Axis, step, least float64, series []plot.Series) plot.Axis {
	low, high := plot.Span(x, step, series...)
	return plot.Axis{Label: label, Unit: "dB", Min: max(min(low, -least), -4*least), Max: min(max(high, least), 4*least)}
}
