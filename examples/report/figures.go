package report

import (
	"fmt"
	"math"
	"strings"

	"example.com/earnest/distortion"
	"example.com/earnest/examples/report/plot"
	"example.com/earnest/examples/session"
	"example.com/earnest/response"
)

// sideStyle is the style of each side, the same in every plot.
var sideStyle = map[string]plot.Style{"left": plot.Blue, "right": plot.Vermilion}

// curve is a series of a curve with half of its interval on either side; nil
// for none.
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

// confidence is the probability that the shaded bands are for.
const confidence = 0.95

// responsePlot draws both sides, and their mean, against the target, all brought
// to the level at which they are judged.
func responsePlot(m *session.Measurement, j *session.Judgement, log bool) plot.Plot {
	p := plot.Plot{
		ID: "response", Title: "Response, frequency on a logarithmic axis",
		Summary: responseWords(m, j),
		X:       plot.Frequency(20, 20000),
		Notes:   []string{responseNote(m, j)},
	}
	if !log {
		p.ID, p.Title = "response-linear", "Response, frequency on a linear axis"
		p.X = plot.Axis{Label: "Frequency", Unit: "kHz", Min: 0, Max: 20}
		p.Notes = []string{"The same curves. Every kilohertz has the same width here, so the treble, where fit and microphone matter most, fills the picture."}
	}
	for _, side := range m.Sides() {
		p.Series = append(p.Series, curve(side.Name, side.Response().Offset(j.Mean.Offset.Value), side.Confidence(confidence), sideStyle[side.Name]))
	}
	if len(p.Series) == 2 {
		p.Series = append(p.Series, curve("mean of both", m.Mean.Offset(j.Mean.Offset.Value), nil, plot.Violet))
	}
	goal := j.Target.Curve.Resample(m.Mean.Frequency)
	p.Series = append(p.Series, plot.Series{Name: j.Target.Name + " target", X: goal.Frequency, Y: goal.Level, Style: plot.Ink})
	unknown := plot.Outside(p.X, m.Mean.Valid, "not known")
	if !log {
		for i, s := range p.Series {
			p.Series[i].X = scaled(s.X, 1e-3)
		}
		unknown = plot.Outside(p.X, response.Band{Low: m.Mean.Valid.Low / 1000, High: m.Mean.Valid.High / 1000}, "not known")
	}
	p.Unknown = unknown
	p.Y = levelAxis("Level", p.X, 5, 10, p.Series)
	return p
}

// responseNote says what was done to the curves, and what the shaded bands are
// where there are any.
func responseNote(m *session.Measurement, j *session.Judgement) string {
	seatings, shaded := "one seating", "With one seating nobody knows how much the next would differ, and no interval is drawn."
	for _, side := range m.Sides() {
		if n := len(side.Seatings); n > 1 {
			seatings = fmt.Sprintf("mean of %d seatings", n)
			shaded = "A shaded band holds the true curve with 95 % confidence: Student's t over the seatings, and the uncertainty that the session states for microphone and positioning."
		}
	}
	return fmt.Sprintf("Headphones alone: through divided by direct, smoothed over %s, %s, moved by %+.1f dB to fit the target. %s",
		smoothingWords, seatings, j.Mean.Offset.Value, shaded)
}

func scaled(x []float64, by float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = v * by
	}
	return out
}

// levelAxis is an axis in dB that holds the series in whole steps: as much above
// zero as below, least at the least, and beyond that what the series need, up to
// four times as much.
func levelAxis(label string, x plot.Axis, step, least float64, series []plot.Series) plot.Axis {
	low, high := plot.Span(x, step, series...)
	return plot.Axis{Label: label, Unit: "dB", Min: max(min(low, -least), -4*least), Max: min(max(high, least), 4*least)}
}

func responseWords(m *session.Measurement, j *session.Judgement) string {
	var words []string
	for _, side := range m.Sides() {
		d := j.Sides[side.Name]
		words = append(words, fmt.Sprintf("The %s side deviates by %.1f dB rms from the %s target over %v, most at %s (%+.1f dB).",
			side.Name, d.RMS.Value, j.Target.Name, d.Band, response.FormatFrequency(d.Widest.Frequency), d.Widest.Level.Value))
	}
	return strings.Join(words, " ")
}

// matchHalf is half the interval of left less right, whose seatings scatter
// independently.
func matchHalf(m *session.Measurement) []float64 {
	left, right := m.Left.Average.Confidence(confidence), m.Right.Average.Confidence(confidence)
	if left == nil || right == nil {
		return nil
	}
	half := make([]float64, len(left))
	for i := range half {
		half[i] = math.Hypot(left[i], right[i])
	}
	return half
}

// matchPlot draws left less right.
func matchPlot(m *session.Measurement) plot.Plot {
	p := plot.Plot{
		ID: "match", Title: "Left less right", Summary: matchSentence(m),
		X:       plot.Frequency(20, 20000),
		Series:  []plot.Series{curve("left − right", m.Match, matchHalf(m), plot.Green)},
		Unknown: plot.Outside(plot.Frequency(20, 20000), m.Match.Valid, "not known"),
	}
	p.Y = levelAxis("Difference", p.X, 2, 6, p.Series)
	if p.Y.Max-p.Y.Min <= 20 {
		p.DecibelsPerDecade = 10
	}
	if matchHalf(m) != nil {
		p.Notes = []string{"A shaded band holds the true difference with 95 % confidence: Student's t over the seatings. Microphone and interface are the same on both sides."}
	}
	return p
}

// distortionPlot draws the harmonics of one side where they stand clear of
// their floor, their total, and the floor as a floor.
func distortionPlot(side *session.Side, sweepLevel float64) plot.Plot {
	r := side.Seatings[0]
	hs := r.Harmonics
	p := plot.Plot{
		ID: "distortion-" + side.Name, Title: fmt.Sprintf("Harmonic distortion, %s, %s", side.Name, r.Name),
		X:                 plot.Axis{Label: "Frequency of the fundamental", Unit: "Hz", Min: 20, Max: 20000, Log: true},
		Y:                 plot.Axis{Label: "Level re fundamental", Unit: "dB", Min: -110, Max: -20},
		DecibelsPerDecade: 50,
		Notes: []string{fmt.Sprintf("At a sweep level of %.1f dBFS peak; %v. A harmonic within 6 dB of the floor, above the microphone's range or above half the sample rate is not known and not drawn.",
			sweepLevel, hs.Rig)},
	}
	styles := []plot.Style{plot.Blue, plot.Vermilion, plot.Green, plot.Violet}
	for i, o := range hs.Orders[:min(len(styles), len(hs.Orders))] {
		p.Series = append(p.Series, plot.Series{Name: ordinal(o.N) + " harmonic", X: hs.Fundamental, Y: above(o), Style: styles[i]})
	}
	thd := hs.THD(distortion.ToFundamental)
	total := plot.Series{Name: "total (THD)", X: hs.Fundamental, Y: thd.Curve().Level, Style: plot.Ink}
	if thd.Floor != nil {
		floor := make([]float64, len(thd.Floor))
		for i, f := range thd.Floor {
			floor[i] = 20 * math.Log10(f)
			if thd.Figure(hs.Fundamental[i]).Below {
				total.Y[i] = math.NaN()
			}
		}
		p.Series = append(p.Series, plot.Series{Name: "floor of this measurement", X: hs.Fundamental, Y: floor, Style: plot.Ochre, Kind: plot.Floor})
	}
	p.Series = append(p.Series, total)
	p.Summary = fmt.Sprintf("Total harmonic distortion of the %s side is %s at 100 Hz, %s at 1 kHz and %s at 5 kHz.",
		side.Name, Percent(thd.Figure(100)), Percent(thd.Figure(1000)), Percent(thd.Figure(5000)))
	return p
}

// Percent is a distortion figure in per cent, with the bound where it is
// not above its floor.
func Percent(f distortion.Figure) string {
	percent := func(level float64) string { // two digits, a last zero too
		return strings.TrimSuffix(fmt.Sprintf("%#.2g", 100*math.Pow(10, level/20)), ".") + " %"
	}
	switch {
	case math.IsNaN(f.Level):
		return "not known"
	case f.Below:
		return "below the floor of this measurement (at most " + percent(f.Bound()) + ")"
	}
	return percent(f.Level)
}

func ordinal(n int) string {
	switch n {
	case 2:
		return "2nd"
	case 3:
		return "3rd"
	}
	return fmt.Sprintf("%dth", n)
}

// impulsePlot draws the impulse response of the headphones alone.
func impulsePlot(m *session.Measurement) plot.Plot {
	p := plot.Plot{
		ID: "impulse", Title: "Impulse response",
		X:     plot.Axis{Label: "Time", Unit: "ms", Min: -1, Max: 5},
		Y:     plot.Axis{Label: "Amplitude re largest", Unit: "", Min: -1.1, Max: 1.1},
		Notes: []string{fmt.Sprintf("Headphones alone, band-limited to %v, largest value at zero time and set to 1.", m.Mean.Valid)},
	}
	for _, side := range m.Sides() {
		h := side.Seatings[0].Transfer.Impulse()
		x, y := around(h, p.X.Min/1000, p.X.Max/1000)
		p.Series = append(p.Series, plot.Series{Name: side.Name, X: x, Y: y, Style: sideStyle[side.Name], Kind: plot.Impulse})
	}
	p.Summary = "The impulse responses of the sides, from 1 ms before their largest value to 5 ms after it."
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

// plots are those that have something to show, by id.
func plots(r Results, m *session.Measurement, j *session.Judgement) map[string]plot.Plot {
	all := []plot.Plot{responsePlot(m, j, true), responsePlot(m, j, false), impulsePlot(m), stepPlot(m), decayPlot(r)}
	if len(m.Match.Level) > 0 {
		all = append(all, matchPlot(m))
	}
	for _, side := range m.Sides() {
		all = append(all, distortionPlot(side, m.Stimulus.Sweep().Level()))
	}
	all = append(all, electricalPlots(m)...)
	if j.Correction != nil && len(j.Correction.Filters) > 0 {
		all = append(all, correctionPlot(j))
	}
	for i, material := range m.Programmes {
		if material.Comparison != nil {
			all = append(all, programmePlot(i, m, material, j, true), programmePlot(i, m, material, j, false))
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
