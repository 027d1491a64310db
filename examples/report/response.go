package report

import (
	"math"
	"strings"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/review"
)

// responseJSON is the headphones' response, relative to the direct recording.
type responseJSON struct {
	Smoothing   string    `json:"smoothing"`
	ValidHz     [2]number `json:"valid_hz"`
	FrequencyHz []number  `json:"frequency_hz"`
	// Level and Uncertainty (standard, of the mean over seatings) by "mean",
	// "left", "right"; Match is left less right.
	Level       map[string][]number `json:"level_db"`
	Uncertainty map[string][]number `json:"uncertainty_db"`
	// HalfWidth95 of each side and of left less right, the shaded bands of the page; null with one
	// seating.
	HalfWidth95 map[string][]number `json:"half_width_95_db"`
	Match       []number            `json:"match_db,omitempty"`
	MatchHalf   []number            `json:"match_half_width_95_db,omitempty"`
	// MatchRMS is over review.MatchBand; missing if not known.
	MatchRMS *figureJSON `json:"match_rms,omitempty"`
	// Polarity of left re right: "same", "opposite", or "not known".
	Polarity string `json:"match_polarity"`
	Seatings int    `json:"seatings"`
}

func newResponse(r *review.Results) responseJSON {
	out := responseJSON{
		Smoothing: english.smoothing(), ValidHz: newBand(r.Mean.Valid),
		FrequencyHz: numbers(r.Mean.Frequency),
		Level:       map[string][]number{"mean": numbers(r.Mean.Level)},
		Uncertainty: map[string][]number{"mean": numbers(r.Mean.Uncertainty)},
		HalfWidth95: map[string][]number{},
		Match:       numbers(r.Difference.Level),
		Seatings:    r.Seatings,
		Polarity:    polarity(r),
	}
	for _, side := range r.Sides() {
		out.Level[side.Name] = numbers(side.Response().Level)
		out.Uncertainty[side.Name] = numbers(side.Response().Uncertainty)
		out.HalfWidth95[side.Name] = numbers(side.Response().HalfWidth(confidence))
	}
	if len(r.Difference.Level) > 0 {
		out.MatchHalf = numbers(r.Difference.HalfWidth(confidence))
	}
	if d := r.Judgement.Difference; d != nil {
		f := newFigure(d.RMS)
		out.MatchRMS = &f
	}
	return out
}

// targetJSON is the target of the response.
type targetJSON struct {
	Name        string   `json:"name"`
	Rig         string   `json:"rig"`
	FrequencyHz []number `json:"frequency_hz"`
	LevelDB     []number `json:"level_db"`
}

func newTarget(t target.Target, on response.Curve) targetJSON {
	c := t.Curve.Resample(on.Frequency)
	return targetJSON{Name: t.Name, Rig: t.Curve.Rig, FrequencyHz: numbers(c.Frequency), LevelDB: numbers(c.Level)}
}

// responsePlot draws both sides and their mean against the target, all at the level at which they
// are judged.
func (l language) responsePlot(r *review.Results, log bool) plot.Plot {
	j := r.Judgement
	p := plot.Plot{
		ID: "response", Title: l.Text("plot.response"),
		Summary: l.responseWords(r),
		X:       l.Frequency(20, 20000),
		Notes:   []string{l.responseNote(r)},
	}
	if !log {
		p.ID, p.Title = "response-linear", l.Text("plot.response-linear")
		p.X = plot.Axis{Label: l.Text("axis.frequency"), Unit: "kHz", Min: 0, Max: 20}
		p.Notes = []string{l.Text("response.linear")}
	}
	for _, side := range r.Sides() {
		p.Series = append(p.Series, curve(l.Side(side.Name), side.Response().Offset(j.Mean.Offset.Value),
			side.Response().HalfWidth(confidence),
			sideStyle[side.Name]))
	}
	if len(p.Series) == 2 {
		p.Series = append(p.Series, curve(l.Text("page.mean-of-both"), r.Mean.Offset(j.Mean.Offset.Value), nil,
			plot.Violet))
	}
	goal := j.Target.Curve.Resample(r.Mean.Frequency)
	p.Series = append(p.Series, plot.Series{Name: l.Text("response.target", j.Target.Name),
		X: goal.Frequency, Y: goal.Level, Style: plot.Ink})
	unknown := plot.Outside(p.X, r.Mean.Valid, l.Text("page.not-known"))
	if !log {
		for i, s := range p.Series {
			p.Series[i].X = scaled(s.X, 1e-3)
		}
		unknown = plot.Outside(p.X, response.Band{Low: r.Mean.Valid.Low / 1000, High: r.Mean.Valid.High / 1000},
			l.Text("page.not-known"))
	}
	p.Unknown = unknown
	p.Y = levelAxis(l.Text("axis.level"), p.X, 5, 10, p.Series)
	if log && p.Y.Max-p.Y.Min <= 30 {
		p.DecibelsPerDecade = 10 // tall enough to read 1 dB
	}
	return p
}

// responseNote describes the processing of the curves and the shaded bands, if there are any.
func (l language) responseNote(r *review.Results) string {
	seatings, shaded := l.Text("response.one"),
		l.Text("response.shaded-one")
	for _, side := range r.Sides() {
		if n := len(side.Seatings); n > 1 {
			seatings = l.Text("response.many", n)
			shaded = l.Text("response.shaded", l.Text("title.uncertainty"))
		}
	}
	return l.Text("response.note", l.smoothing(), seatings, r.Judgement.Mean.Offset.Value, shaded)
}

func (l language) responseWords(r *review.Results) string {
	var words []string
	for _, side := range r.Sides() {
		d := r.Judgement.Sides[side.Name]
		words = append(words, l.Text("response.side", l.Side(side.Name), l.rms(d), r.Judgement.Target.Name,
			l.Band(d.Band), l.plainHz(d.Max.Frequency), l.Signed(d.Max.Level)+" dB"))
	}
	return strings.Join(words, " ")
}

// matchPlot draws left less right.
func (l language) matchPlot(r *review.Results) plot.Plot {
	half := r.Difference.HalfWidth(confidence)
	p := plot.Plot{
		ID: "match", Title: l.Text("plot.match"), Summary: l.matchSentence(r),
		X:       l.Frequency(20, 20000),
		Series:  []plot.Series{curve(l.Text("match.curve"), r.Difference, half, plot.Green)},
		Unknown: plot.Outside(l.Frequency(20, 20000), r.Difference.Valid, l.Text("page.not-known")),
	}
	p.Y = levelAxis(l.Text("axis.difference"), p.X, 2, 6, p.Series)
	if p.Y.Max-p.Y.Min <= 20 {
		p.DecibelsPerDecade = 10
	}
	if half != nil {
		p.Notes = []string{l.Text("match.note")}
	}
	return p
}

// polarity returns the polarity of left re right. With a correlation below 0.6 it is not known.
func polarity(r *review.Results) string {
	switch v := r.Polarity.Value; {
	case !r.Polarity.Known() || math.Abs(v) < 0.6:
		return "not known"
	case v < 0:
		return "opposite"
	}
	return "same"
}
