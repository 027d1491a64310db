package report

import (
	"fmt"
	"math"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
	"example.com/earnest/target/review"
)

var fourStyles = []plot.Style{plot.Blue, plot.Vermilion, plot.Green, plot.Violet}

// inPercent is a plot of distortion in dB in %, on a logarithmic axis.
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

// furtherPlots are those of what the stimulus asks beyond the response.
func furtherPlots(r *review.Results) (all []plot.Plot) {
	for _, s := range r.Sides() {
		if further(s) == nil {
			continue
		}
		if levels := s.LevelsAt(1000); levels != nil {
			byLevel := levelsPlot(s)
			all = append(all, byLevel, inPercent(byLevel), compressionPlot(r, s), maxLevelPlot(r, s))
		}
		if s.Crosstalk() != nil {
			all = append(all, crosstalkPlot(r, s))
		}
	}
	if len(all) > 0 {
		all = append(all, groupDelayPlot(r))
	}
	return all
}

// levelsPlot draws total harmonic distortion against the level played.
func levelsPlot(s *review.Side) plot.Plot {
	p := plot.Plot{ID: "levels-" + s.Name, Title: "Distortion against level, " + s.Name,
		X: plot.Axis{Label: "Level of the sweep", Unit: "dBFS"}, Y: plot.Axis{Label: "Level re fundamental",
			Unit: "dB", Min: -90, Max: -10},
		Notes: []string{"Ticks that hang down: " +
			"at most so much, since it does not stand clear of the floor there. What is louder than the loudest level played " +
			"is not known."}}
	low, high := math.Inf(1), math.Inf(-1)
	for i, f := range []float64{50, 200, 1000, 5000} {
		var played, level, bound []float64
		for _, one := range s.LevelsAt(f) {
			played = append(played, one.Played)
			level, bound = append(level, decibel.OfAmplitude(one.THD.Value/100)), append(bound, math.NaN())
			if one.THD.Below {
				bound[len(bound)-1] = decibel.OfAmplitude(one.THD.Bound / 100)
			}
			low, high = min(low, one.Played), max(high, one.Played)
		}
		name := response.FormatFrequency(f)
		p.Series = append(p.Series, plot.Series{Name: name, X: played, Y: level, Style: fourStyles[i]},
			plot.Series{Name: name + ", at most", X: played, Y: bound, Style: fourStyles[i], Kind: plot.Bound})
	}
	p.X.Min, p.X.Max = low-2, high+2
	at := s.LevelsAt(1000)
	p.Summary = fmt.Sprintf("At 1 kHz the distortion of the %s side is %s at %s and %s at %s.", s.Name,
		percentAndLevel(at[0].THD.Reading), minus(fmt.Sprintf("%.4g dBFS", at[0].Played)),
		percentAndLevel(at[len(at)-1].THD.Reading), minus(fmt.Sprintf("%.4g dBFS", at[len(at)-1].Played)))
	return p
}

// compressionPlot draws by how much the fundamental falls short of the level, at each level.
func compressionPlot(r *review.Results, s *review.Side) plot.Plot {
	p := plot.Plot{ID: "compression-" + s.Name, Title: "Compression of the fundamental, " + s.Name,
		X: plot.Frequency(20, 20000), DecibelsPerDecade: 10}
	curves := further(s).Levels.Compression()
	points := s.LevelsAt(1000)
	for i, c := range curves[:min(len(curves), len(fourStyles))] {
		p.Series = append(p.Series,
			curve(minus(fmt.Sprintf("%.4g dBFS", points[i+1].Played)), c, c.HalfWidth(confidence), fourStyles[i]))
	}
	p.Y = levelAxis("Gain re the lowest level", p.X, 1, 3, p.Series)
	last := points[len(points)-1]
	p.Summary = fmt.Sprintf("At the highest level the gain of the %s side at 1 kHz is %s from that at the lowest.",
		s.Name, Signed(last.Compression))
	return p
}

// maxLevelPlot draws the highest levels up to which distortion stays under a limit, where it was
// reached.
func maxLevelPlot(r *review.Results, s *review.Side) plot.Plot {
	p := plot.Plot{ID: "most-" + s.Name, Title: "Highest level at a wanted distortion, " + s.Name,
		X: plot.Frequency(20, 20000),
		Y: plot.Axis{Label: "Level of the sweep", Unit: "dBFS"}}
	y := func(m review.MaxLevel) float64 { return m.Played }
	if r.Sound != nil && r.Sound.SweepLevel.Known() {
		p.Y = plot.Axis{Label: "Sound pressure level", Unit: "dB SPL"}
		y = func(m review.MaxLevel) float64 { return m.Sound }
	}
	var series []plot.Series
	notReached := map[float64]int{}
	for _, m := range s.MaxLevels() {
		if len(series) == 0 || series[len(series)-1].Name != fmt.Sprintf("%g %%", m.Percent) {
			series = append(series, plot.Series{Name: fmt.Sprintf("%g %%", m.Percent), Style: fourStyles[len(series)]})
		}
		one, v := &series[len(series)-1], math.NaN()
		if m.Err == nil {
			v = y(m)
		} else if reached(m) == "not reached" {
			notReached[m.Percent]++
		}
		one.X, one.Y = append(one.X, m.Frequency), append(one.Y, v)
	}
	p.Series = series
	low, high := plot.Span(p.X, 10, series...)
	p.Y.Min, p.Y.Max = low, max(high, low+20)
	p.Summary = fmt.Sprintf("Of %d thirds of an octave of the %s side, 1 %% was not reached in %d, "+
		"3 %% in %d and 10 %% in %d: nothing louder was played there.",
		len(series[0].X), s.Name, notReached[1], notReached[3], notReached[10])
	return p
}

// crosstalkPlot draws what comes of the other side.
func crosstalkPlot(r *review.Results, s *review.Side) plot.Plot {
	c := s.Crosstalk()
	p := plot.Plot{ID: "crosstalk-" + s.Name, Title: "Crosstalk into the " + s.Name + " side",
		X: plot.Frequency(20, 20000),
		Y: plot.Axis{Label: "Level re own side", Unit: "dB", Min: -110, Max: 0}, Summary: "Crosstalk from the other side: " +
			minus(c.String()) + ".",
		Series: []plot.Series{curve("crosstalk, third octaves", c.Level, nil, sideStyle[s.Name]),
			{Name: "floor of this measurement", X: c.Floor.Frequency, Y: c.Floor.Level, Style: plot.Ochre, Kind: plot.Floor}}}
	if g := r.CommonGround(s); g != nil {
		p.Series = append(p.Series, curve("by a shared return", g.Common, nil, plot.Green),
			curve("the rest: leak on this rig", g.Leak, nil, plot.Violet))
	} else {
		p.Notes = []string{"What of it a shared return makes and what leaks is not told apart without the impedance."}
	}
	return p
}

// groupDelayPlot draws the group delay of both sides.
func groupDelayPlot(r *review.Results) plot.Plot {
	p := plot.Plot{ID: "delay", Title: "Group delay, less the delay of the whole",
		X: plot.Frequency(20, 20000), Summary: "The group delay"}
	for _, s := range r.Sides() {
		d := s.GroupDelay()
		p.Series = append(p.Series, curve(s.Name, d, d.HalfWidth(confidence), sideStyle[s.Name]))
		p.Summary += fmt.Sprintf(" of the %s side is %.2f ms at 100 Hz and %.2f ms at 1 kHz,", s.Name, d.At(100), d.At(1000))
	}
	p.Summary = minus(p.Summary[:len(p.Summary)-1] + ".")
	if d := r.DelayDifference(); len(d.Frequency) > 0 {
		p.Series = append(p.Series, curve("left less right", d, d.HalfWidth(confidence), plot.Green))
	}
	low, high := plot.Span(p.X, 1, p.Series...)
	p.Y = plot.Axis{Label: "Group delay", Unit: "ms", Min: max(low, -10), Max: min(max(high, 1), 20)}
	return p
}

// residualPlot draws what no steady linear filter explains of a piece, with what could explain it.
func residualPlot(i int, material *review.Programme) plot.Plot {
	p := plot.Plot{ID: fmt.Sprintf("residual-%d", i+1), Title: "What a linear filter leaves of " + material.Name,
		X: plot.Frequency(20, 20000),
		Y: plot.Axis{Label: "Level re through", Unit: "dB", Min: -90, Max: 0},
		Notes: []string{"Predicted: by a polynomial with a filter behind each power, as the sweep shows it; " +
			"too low where something filters before it distorts."}}
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
	p.Series = []plot.Series{{Name: "left", X: f, Y: read, Style: plot.Ink},
		{Name: "noise", X: f, Y: noise, Style: plot.Ochre, Kind: plot.Floor},
		{Name: "predicted from the sweep's distortion", X: f, Y: predicted, Style: plot.Vermilion}}
	p.Summary = fmt.Sprintf("Noise and the distortion by the sweep explain what is left of %s, to 3 dB, "+
		"in %d of %d thirds of an octave.", material.Name, explained, known)
	if known == 0 {
		p.Summary = "What is left of " + material.Name + " can be compared with noise and predicted distortion nowhere."
	}
	return p
}
