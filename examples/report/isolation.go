package report

import (
	"fmt"
	"math"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response/level"
	"example.com/earnest/target/review"
)

// BandLevel is one third octave of a level, and why it is not known where it is
// not.
type BandLevel struct {
	NominalHz   Number `json:"nominal_hz"`
	Level       Number `json:"level_db"`
	Uncertainty Number `json:"uncertainty_db"` // standard
	HalfWidth95 Number `json:"half_width_95_db"`
	Reason      string `json:"reason,omitempty"`
}

// Isolation is the insertion loss of the cup for noise from outside.
type Isolation struct {
	Bands   []BandLevel `json:"bands"`
	Remarks []string    `json:"remarks"`
}

// Spill is what others hear of the pair, in sound pressure.
type Spill struct {
	Distance  Figure `json:"distance"`
	AWeighted Figure `json:"a_weighted"`
	// Unknown is by how much bands that are not known could at most raise it.
	Unknown Number      `json:"unknown_db"`
	Bands   []BandLevel `json:"bands"`
	Remarks []string    `json:"remarks"`
}

// compileIsolation is nil where it was not measured.
func compileIsolation(m *review.Results) *Isolation {
	if m.Isolation == nil {
		return nil
	}
	return &Isolation{bandLevels(m.Isolation), list(m.Isolation.Findings)}
}

// compileSpill is nil where it was not measured.
func compileSpill(m *review.Results) *Spill {
	if m.SoundLeakage == nil {
		return nil
	}
	s := m.SoundLeakage
	return &Spill{figure(s.Distance), figure(s.A), Number(s.Unknown), bandLevels(&s.BandLevels), list(s.Findings)}
}

func bandLevels(l *level.BandLevels) []BandLevel {
	half := halfWidths(l.Curve.Uncertainty)
	out := make([]BandLevel, len(l.Bands))
	for i, b := range l.Bands {
		out[i] = BandLevel{Number(b.Nominal), Number(l.Curve.Level[i]), Number(l.Curve.Uncertainty[i]), Number(half[i]), l.Reason[i]}
	}
	return out
}

func isolationPlot(m *review.Results) plot.Plot {
	c := m.Isolation.Curve
	p := plot.Plot{
		ID: "isolation", Title: "Isolation from outside noise",
		X: plot.Frequency(20, 20000), Series: []plot.Series{curve("insertion loss, third octaves", c, halfWidths(c.Uncertainty), plot.Green)},
		Summary: fmt.Sprintf("The cup takes %s off noise from outside at 125 Hz, %s at 1 kHz and %s at 4 kHz.", decibels(c.At(125.9)), decibels(c.At(1000)), decibels(c.At(3981))),
		Notes:   append(shading(c.Uncertainty), m.Isolation.Findings...),
	}
	low, high := plot.Span(p.X, 10, p.Series...)
	p.Y = plot.Axis{Label: "Insertion loss", Unit: "dB", Min: max(low, -20), Max: min(max(high, 30), 80)}
	return p
}

// spillPlot draws what others hear of the pair.
func spillPlot(m *review.Results) plot.Plot {
	s := m.SoundLeakage
	p := plot.Plot{
		ID: "spill", Title: "What others hear",
		X: plot.Frequency(20, 20000), Series: []plot.Series{curve("beside the pair, third octaves", s.Curve, halfWidths(s.Curve.Uncertainty), plot.Vermilion)},
		Summary: fmt.Sprintf("At a distance of %g m the pair is heard at %s.", s.Distance.Value, interval(figure(s.A))),
		Notes:   append(shading(s.Curve.Uncertainty), s.Findings...),
	}
	low, high := plot.Span(p.X, 10, p.Series...)
	p.Y = plot.Axis{Label: "Sound pressure level", Unit: "dB SPL", Min: max(low, -20), Max: max(min(high, 120), max(low, -20)+30)}
	return p
}

func decibels(v float64) string {
	if math.IsNaN(v) {
		return "an amount that is not known"
	}
	return fmt.Sprintf("%.0f dB", v)
}
