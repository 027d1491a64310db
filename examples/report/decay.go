package report

import (
	"fmt"
	"math"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response"
	"example.com/earnest/target/review"
)

// decayJSON is how long one third octave takes to fall by 30 dB, in the first seating. Reason says
// why it is not known.
type decayJSON struct {
	NominalHz   number `json:"nominal_hz"`
	Seconds     number `json:"seconds"`
	Uncertainty number `json:"uncertainty"` // standard
	HalfWidth95 number `json:"half_width_95"`
	Reason      string `json:"reason,omitempty"`
}

func newDecay(side *review.Side) []decayJSON {
	var out []decayJSON
	for _, d := range side.Decay {
		out = append(out, decayJSON{number(d.Band.Nominal), number(d.Time.Value), number(d.Time.Uncertainty),
			number(halfWidth(d.Time)), d.Reason})
	}
	return out
}

// decayPlot draws how long each third octave takes to fall by 30 dB.
func decayPlot(r *review.Results) plot.Plot {
	p := plot.Plot{
		ID: "decay", Title: "Decay by third octave",
		X: plot.Frequency(20, 20000),
		Notes: []string{"Time in which the energy still to come falls by 30 dB, in the first seating. Bars: " +
			"the interval that holds the truth with 95 % confidence. " +
			"Where the band's own filter rings as long, or noise is near, it is not known."},
		Summary: decayWords(r),
	}
	top := 0.0
	for _, side := range r.Sides() {
		s := plot.Series{Name: side.Name, Style: sideStyle[side.Name], Kind: plot.Points}
		for _, d := range side.Decay {
			t, half := 1000*d.Time.Value, 1000*halfWidth(d.Time)
			s.X, s.Y = append(s.X, d.Band.Nominal), append(s.Y, t)
			s.Low, s.High = append(s.Low, t-half), append(s.High, t+half)
			if !math.IsNaN(t) {
				top = max(top, t+half)
			}
		}
		if len(s.X) > 0 {
			p.Series = append(p.Series, s)
		}
	}
	p.Y = plot.Axis{Label: "Time to fall by 30 dB", Unit: "ms", Min: 0, Max: 5 * math.Ceil(max(top, 5)/5)}
	return p
}

// decayWords says where the pair rings the longest.
func decayWords(r *review.Results) string {
	var longest review.Decay
	for _, side := range r.Sides() {
		for _, d := range side.Decay {
			if d.Time.Value > longest.Time.Value {
				longest = d
			}
		}
	}
	if !longest.Time.Known() {
		return "In no third octave can a decay be told: " +
			"where noise leaves enough to see, the pair rings no longer than the band's own filter does."
	}
	return fmt.Sprintf("The longest decay that can be told, %.1f ms to fall by 30 dB, is at %s.",
		1000*longest.Time.Value, response.FormatFrequency(longest.Band.Nominal))
}
