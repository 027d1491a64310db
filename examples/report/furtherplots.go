package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
	"example.com/earnest/target/review"
)

var fourStyles = []plot.Style{plot.Blue, plot.Vermilion, plot.Green, plot.Violet}

// furtherPlots returns the plots of the further results.
func (l language) furtherPlots(r *review.Results) (all []plot.Plot) {
	for _, s := range r.Sides() {
		f := s.Further
		if f == nil {
			continue
		}
		if levels := s.LevelsAt(1000); levels != nil {
			byLevel := l.levelsPlot(s)
			all = append(all, byLevel, inPercent(byLevel), l.compressionPlot(r, s), l.maxLevelPlot(r, s))
		}
		if f.Crosstalk != nil {
			all = append(all, l.crosstalkPlot(r, s, f.Crosstalk))
		}
	}
	if len(all) > 0 {
		all = append(all, l.groupDelayPlot(r))
	}
	return all
}

// leastPercent replaces zero on logarithmic axes.
const leastPercent = 1e-6

// shaded adds a note that explains the shaded bands, if the plot has any.
func (l language) shaded(p plot.Plot) plot.Plot {
	if slices.ContainsFunc(p.Series, func(s plot.Series) bool { return s.High != nil }) {
		p.Notes = slices.Insert(p.Notes, 0, l.Text("plot.shaded"))
	}
	return p
}

// levelsPlot draws total harmonic distortion against the level played.
func (l language) levelsPlot(s *review.Side) plot.Plot {
	p := plot.Plot{ID: "levels-" + s.Name, Title: l.Text("plot.levels", l.Side(s.Name)),
		X: plot.Axis{Label: l.Text("axis.sweep-level"), Unit: "dBFS"}, Y: plot.Axis{Label: l.Text("axis.re-fundamental"),
			Unit: "dB", Min: -90, Max: -10},
		Notes: []string{l.Text("levels.note")}}
	low, high := math.Inf(1), math.Inf(-1)
	for i, f := range []float64{50, 200, 1000, 5000} {
		line := plot.Series{Name: l.plainHz(f), Style: fourStyles[i]}
		var bound []float64
		for _, one := range s.LevelsAt(f) {
			from, to := math.NaN(), math.NaN()
			if !ofOne(one.THD) {
				from, to = one.THD.Interval(confidence)
			}
			line.X, line.Y = append(line.X, one.Played), append(line.Y, decibel.OfAmplitude(one.THD.Value/100))
			line.Low, line.High = append(line.Low, decibel.OfAmplitude(max(from, leastPercent)/100)),
				append(line.High, decibel.OfAmplitude(to/100))
			if bound = append(bound, math.NaN()); one.THD.Below {
				bound[len(bound)-1] = decibel.OfAmplitude(one.THD.Bound / 100)
			}
			low, high = min(low, one.Played), max(high, one.Played)
		}
		name, played := line.Name, line.X
		p.Series = append(p.Series, banded(line),
			plot.Series{Name: l.Text("levels.at-most", name), X: played, Y: bound, Style: fourStyles[i], Kind: plot.Bound})
	}
	p.X.Min, p.X.Max = low-2, high+2
	at := s.LevelsAt(1000)
	p.Summary = l.Text("levels.summary", l.Side(s.Name),
		l.percentAndLevel(at[0].THD.Reading), l.Number("%.4g dBFS", at[0].Played),
		l.percentAndLevel(at[len(at)-1].THD.Reading), l.Number("%.4g dBFS", at[len(at)-1].Played))
	return l.shaded(p)
}

// compressionPlot draws the compression of the fundamental at each level.
func (l language) compressionPlot(r *review.Results, s *review.Side) plot.Plot {
	p := plot.Plot{ID: "compression-" + s.Name, Title: l.Text("plot.compression", l.Side(s.Name)),
		X: l.Frequency(20, 20000), DecibelsPerDecade: 10}
	points := s.LevelsAt(1000)
	for i, point := range points[1:min(len(points), 1+len(fourStyles))] {
		c := s.Compression(point.Played)
		p.Series = append(p.Series, curve(l.Number("%.4g dBFS", point.Played), c, c.HalfWidth(confidence), fourStyles[i]))
	}
	p.Y = levelAxis(l.Text("axis.gain"), p.X, 1, 3, p.Series)
	last := points[len(points)-1]
	p.Summary = l.Text("compression.summary", l.Side(s.Name), l.Signed(last.Compression)+" dB")
	return l.shaded(p)
}

// maxLevelPlot draws the highest levels at which distortion stays below a limit, where the limit
// was reached.
func (l language) maxLevelPlot(r *review.Results, s *review.Side) plot.Plot {
	p := plot.Plot{ID: "most-" + s.Name, Title: l.Text("plot.most", l.Side(s.Name)),
		X: l.Frequency(20, 20000),
		Y: plot.Axis{Label: l.Text("axis.sweep-level"), Unit: "dBFS"}}
	y := func(m review.MaxLevel) response.Figure { return m.Played }
	if r.Sound != nil && r.Sound.SweepLevel.Known() {
		p.Y = plot.Axis{Label: l.Text("axis.spl"), Unit: "dB SPL"}
		y = func(m review.MaxLevel) response.Figure { return m.Sound }
	}
	var series []plot.Series
	notReached := map[float64]int{}
	for _, m := range s.MaxLevels {
		if len(series) == 0 || series[len(series)-1].Name != fmt.Sprintf("%g %%", m.Percent) {
			series = append(series, plot.Series{Name: fmt.Sprintf("%g %%", m.Percent), Style: fourStyles[len(series)]})
		}
		one, v := &series[len(series)-1], response.NotKnown("")
		if m.Err == nil {
			v = y(m)
		} else if reached(m) == "not reached" {
			notReached[m.Percent]++
		}
		low, high := v.Interval(confidence)
		one.X, one.Y = append(one.X, m.Frequency), append(one.Y, v.Value)
		one.Low, one.High = append(one.Low, low), append(one.High, high)
	}
	for i, one := range series {
		series[i] = banded(one)
	}
	p.Series = series
	low, high := plot.Span(p.X, 10, series...)
	p.Y.Min, p.Y.Max = low, max(high, low+20)
	p.Summary = l.Text("most.summary", len(series[0].X), l.Side(s.Name), notReached[1], notReached[3], notReached[10])
	return l.shaded(p)
}

// crosstalkPlot draws the crosstalk.
func (l language) crosstalkPlot(r *review.Results, s *review.Side, c *review.Crosstalk) plot.Plot {
	p := plot.Plot{ID: "crosstalk-" + s.Name, Title: l.Text("plot.crosstalk", l.Side(s.Name)),
		X:       l.Frequency(20, 20000),
		Y:       plot.Axis{Label: l.Text("axis.re-own"), Unit: "dB", Min: -110, Max: 0},
		Summary: l.Text("further.crosstalk", l.readingInDB(c.At(1000))),
		Series: []plot.Series{curve(l.Text("crosstalk.curve"), c.Level, c.Level.HalfWidth(confidence), sideStyle[s.Name]),
			{Name: l.Text("distortion.floor"), X: c.Floor.Frequency, Y: c.Floor.Level, Style: plot.Ochre,
				Kind: plot.Floor}}}
	switch g := r.CommonGround(s); {
	case r.Impedance == nil:
		p.Notes = append(p.Notes, l.Text("crosstalk.note"))
	case g == nil:
		p.Notes = append(p.Notes, l.Text("crosstalk.together"))
	case told(g):
		p.Series = append(p.Series, curve(l.Text("crosstalk.return"), g.Common, g.Common.HalfWidth(confidence),
			plot.Green),
			curve(l.Text("crosstalk.leak"), g.Leak, nil, plot.Violet))
		p.Notes = append(p.Notes, l.Text("crosstalk.no-interval"))
	}
	return l.shaded(p)
}

// groupDelayPlot draws the group delay of both sides.
func (l language) groupDelayPlot(r *review.Results) plot.Plot {
	p := plot.Plot{ID: "delay", Title: l.Text("plot.delay"),
		X: l.Frequency(20, 20000)}
	var words []string
	for _, s := range r.Sides() {
		d := s.GroupDelay
		p.Series = append(p.Series, curve(l.Side(s.Name), d, d.HalfWidth(confidence), sideStyle[s.Name]))
		words = append(words, l.Text("delay.side", l.Side(s.Name), d.At(100), d.At(1000)))
	}
	p.Summary = l.Text("delay.summary", strings.Join(words, ", "))
	if d := r.DelayDifference; len(d.Frequency) > 0 {
		p.Series = append(p.Series, curve(l.Text("delay.difference"), d, d.HalfWidth(confidence), plot.Green))
	}
	low, high := plot.Span(p.X, 1, p.Series...)
	p.Y = plot.Axis{Label: l.Text("axis.delay"), Unit: "ms", Min: max(low, -10), Max: min(max(high, 1), 20)}
	return p
}

// mostVaried is the largest variation of harmonics in dB at which the prediction counts as right.
// It is then too low by 1.5 dB (simulated, TestAFilterBeforeTheDistortionIsReported in package review).
const mostVaried = 6

// residualPlot draws the part of a piece that no steady linear filter explains, with the levels
// expected from noise and distortion.
func (l language) residualPlot(i int, material *review.Programme) plot.Plot {
	p := plot.Plot{ID: fmt.Sprintf("residual-%d", i+1), Title: l.Text("plot.residual", material.Name),
		X:     l.Frequency(20, 20000),
		Y:     plot.Axis{Label: l.Text("axis.re-through"), Unit: "dB", Min: -90, Max: 0},
		Notes: []string{l.Text("residual.note")}}
	switch v := material.FilterBefore; {
	case v > mostVaried:
		p.Notes = append(p.Notes, l.Text("residual.low", v))
	case math.IsNaN(v):
		p.Notes = append(p.Notes, l.Text("residual.perhaps"))
	}
	var f, read, noise, predicted []float64
	explained, known := 0, 0
	for _, one := range material.Residuals {
		f, read = append(f, one.Frequency), append(read, one.Read)
		noise, predicted = append(noise, one.Noise), append(predicted, one.Predicted)
		if sum := decibel.OfPower(decibel.Power(one.Noise) + decibel.Power(one.Predicted)); !math.IsNaN(sum + one.Read) {
			known++
			if one.Read < sum+3 {
				explained++
			}
		}
	}
	p.Series = []plot.Series{{Name: l.Text("residual.left"), X: f, Y: read, Style: plot.Ink},
		{Name: l.Text("residual.noise"), X: f, Y: noise, Style: plot.Ochre, Kind: plot.Floor},
		{Name: l.Text("residual.predicted"), X: f, Y: predicted, Style: plot.Vermilion}}
	p.Summary = l.Text("residual.summary", material.Name, explained, known)
	if known == 0 {
		p.Summary = l.Text("residual.nowhere", material.Name)
	}
	return p
}

// inPercent converts a plot of distortion from dB to %, on a logarithmic axis.
func inPercent(p plot.Plot) plot.Plot {
	p.ID += "-percent"
	p.DecibelsPerDecade = 0
	least := math.Pow(10, math.Floor(p.Y.Min/20+2))
	p.Y = plot.Axis{Label: p.Y.Label, Unit: "%", Min: least, Max: math.Pow(10, math.Ceil(p.Y.Max/20+2)), Log: true}
	of := func(level []float64) []float64 {
		out := make([]float64, len(level))
		for i, v := range level {
			out[i] = 100 * decibel.Amplitude(v)
		}
		return out
	}
	series := p.Series
	p.Series = nil
	for _, s := range series {
		s.Y = of(s.Y)
		if s.Low != nil {
			s.Low, s.High = of(s.Low), of(s.High)
		}
		p.Series = append(p.Series, s)
	}
	return p
}

// banded leaves out a band that is not known anywhere.
func banded(s plot.Series) plot.Series {
	if !slices.ContainsFunc(s.High, func(v float64) bool { return !math.IsNaN(v) }) {
		s.Low, s.High = nil, nil
	}
	return s
}

// told reports whether crosstalk through a shared return lead is separated from the rest: the
// resistance of the lead is above zero with 95 % confidence.
func told(g *review.CommonGround) bool {
	low, _ := g.Resistance.Interval(confidence)
	return low > 0
}

// leaks reports whether a shared return lead gives less than half of the amplitude of the crosstalk
// at 1 kHz, with 95 % confidence.
func leaks(g *review.CommonGround, c *review.Crosstalk) bool {
	_, high := g.Resistance.Interval(confidence)
	if high <= 0 {
		return true
	}
	most := g.Common.At(1000) + decibel.OfAmplitude(high/math.Abs(g.Resistance.Value)) // it is proportional to R
	return most < c.At(1000).AsRead+decibel.OfAmplitude(0.5)
}
