package report

import (
	"math"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response/level"
	"example.com/earnest/target/review"
)

// bandLevelJSON is the level in one third octave, or the reason why it is not known.
type bandLevelJSON struct {
	NominalHz   number `json:"nominal_hz"`
	Level       number `json:"level_db"`
	Uncertainty number `json:"uncertainty_db"` // standard
	HalfWidth95 number `json:"half_width_95_db"`
	Reason      string `json:"reason,omitempty"`
}

// isolationJSON is the insertion loss of the cup for noise from outside.
type isolationJSON struct {
	Bands   []bandLevelJSON `json:"bands"`
	Remarks []string        `json:"remarks"`
}

// newIsolation returns nil if the isolation was not measured.
func newIsolation(r *review.Results) *isolationJSON {
	if r.Isolation == nil {
		return nil
	}
	return &isolationJSON{bandLevels(r.Isolation), remarks(r.Isolation.Findings)}
}

// spillJSON is the sound leakage of the pair, in sound pressure.
type spillJSON struct {
	Distance  figureJSON `json:"distance"`
	AWeighted figureJSON `json:"a_weighted"`
	// Unknown is the largest increase that bands which are not known could cause.
	Unknown number          `json:"unknown_db"`
	Bands   []bandLevelJSON `json:"bands"`
	Remarks []string        `json:"remarks"`
}

// newSpill returns nil if the leakage was not measured.
func newSpill(r *review.Results) *spillJSON {
	if r.SoundLeakage == nil {
		return nil
	}
	s := r.SoundLeakage
	return &spillJSON{newFigure(s.Distance), newFigure(s.A), number(s.Unknown), bandLevels(&s.BandLevels),
		remarks(s.Findings)}
}

func (l language) isolationPlot(r *review.Results) plot.Plot {
	c := r.Isolation.Curve
	p := plot.Plot{
		ID: "isolation", Title: l.Text("plot.isolation"),
		X:       l.Frequency(20, 20000),
		Series:  []plot.Series{curve(l.Text("isolation.curve"), c, c.HalfWidth(confidence), plot.Green)},
		Summary: l.Text("isolation.summary", l.decibels(c.At(125.9)), l.decibels(c.At(1000)), l.decibels(c.At(3981))),
		Notes:   append(l.shading(c.Uncertainty), l.remarks(r.Isolation.Findings)...),

		DecibelsPerDecade: 50,
	}
	low, high := plot.Span(p.X, 10, p.Series...)
	p.Y = plot.Axis{Label: l.Text("axis.insertion-loss"), Unit: "dB", Min: max(low, -20), Max: min(max(high, 30), 80)}
	return p
}

// spillPlot draws the sound leakage of the pair.
func (l language) spillPlot(r *review.Results) plot.Plot {
	s := r.SoundLeakage
	p := plot.Plot{
		ID: "spill", Title: l.Text("plot.spill"),
		X: l.Frequency(20, 20000),
		Series: []plot.Series{curve(l.Text("spill.curve"),
			s.Curve, s.Curve.HalfWidth(confidence), plot.Vermilion)},
		Summary: l.Text("spill.summary", s.Distance.Value, l.Interval(s.A)),
		Notes:   append(l.shading(s.Curve.Uncertainty), l.remarks(s.Findings)...),

		DecibelsPerDecade: 50,
	}
	low, high := plot.Span(p.X, 10, p.Series...)
	p.Y = plot.Axis{Label: l.Text("axis.spl"), Unit: "dB SPL",
		Min: max(low, -20), Max: max(min(high, 120), max(low, -20)+30)}
	return p
}

func (l language) decibels(v float64) string {
	if math.IsNaN(v) {
		return l.Text("isolation.not-known")
	}
	return l.Number("%.0f dB", v)
}

func bandLevels(l *level.BandLevels) []bandLevelJSON {
	half := l.Curve.HalfWidth(confidence)
	out := make([]bandLevelJSON, len(l.Bands))
	for i, b := range l.Bands {
		out[i] = bandLevelJSON{number(b.Nominal), number(l.Curve.Level[i]), number(l.Curve.Uncertainty[i]),
			number(half[i]), l.Reason[i]}
	}
	return out
}
