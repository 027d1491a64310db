package report

import (
	"fmt"
	"math"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response"
	"example.com/earnest/target/review"
)

// decaySpan is by how much the energy has to fall, in dB, for the time that is
// printed.
const decaySpan = -30

// DecayRow is how long one third octave takes to fall by 30 dB.
type DecayRow struct {
	NominalHz   Number `json:"nominal_hz"`
	Seconds     Number `json:"seconds"`
	Uncertainty Number `json:"uncertainty"` // standard
	HalfWidth95 Number `json:"half_width_95"`
	// Reason says why it is not known.
	Reason string `json:"reason,omitempty"`
}

// compileDecay is the decay of each side in its first seating.
func compileDecay(m *review.Results) (map[string][]DecayRow, error) {
	out := map[string][]DecayRow{}
	for _, side := range m.Sides() {
		decays, err := side.Seatings[0].Transfer.Impulse().Decays(response.DecayConfig{})
		if err != nil {
			return nil, err
		}
		for _, d := range decays {
			t := d.To(decaySpan)
			out[side.Name] = append(out[side.Name], DecayRow{Number(d.Band.Nominal), Number(t.Seconds), Number(t.Uncertainty), Number(coverage(0) * t.Uncertainty), t.Reason})
		}
	}
	return out, nil
}

// decayPlot draws how long each third octave takes to fall by 30 dB.
func decayPlot(r Results) plot.Plot {
	p := plot.Plot{
		ID: "decay", Title: "Decay by third octave",
		X: plot.Frequency(20, 20000),
		Notes: []string{"Time in which the energy still to come falls by 30 dB, in the first seating. Bars: the interval that holds the truth with 95 % confidence. " +
			"Where the band's own filter rings as long, or noise is near, it is not known."},
	}
	top := 0.0
	for _, name := range []string{"left", "right"} {
		if r.Decay[name] == nil {
			continue
		}
		s := plot.Series{Name: name, Style: sideStyle[name], Kind: plot.Points}
		for _, d := range r.Decay[name] {
			t, half := 1000*float64(d.Seconds), 1000*float64(d.HalfWidth95)
			s.X, s.Y = append(s.X, float64(d.NominalHz)), append(s.Y, t)
			s.Low, s.High = append(s.Low, t-half), append(s.High, t+half)
			if !math.IsNaN(t) {
				top = max(top, t+half)
			}
		}
		p.Series = append(p.Series, s)
	}
	p.Y = plot.Axis{Label: "Time to fall by 30 dB", Unit: "ms", Min: 0, Max: 5 * math.Ceil(max(top, 5)/5)}
	p.Summary = decayWords(r)
	return p
}

// decayWords says where the pair rings the longest.
func decayWords(r Results) string {
	var longest DecayRow
	for _, rows := range r.Decay {
		for _, d := range rows {
			if float64(d.Seconds) > float64(longest.Seconds) {
				longest = d
			}
		}
	}
	if longest.Seconds == 0 {
		return "In no third octave can a decay be told: where noise leaves enough to see, the pair rings no longer than the band's own filter does."
	}
	return fmt.Sprintf("The longest decay that can be told, %.1f ms to fall by 30 dB, is at %s.", 1000*float64(longest.Seconds), response.FormatFrequency(float64(longest.NominalHz)))
}
