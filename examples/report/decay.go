package report

import (
	"math"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response"
	"example.com/earnest/target/review"
)

// decayJSON holds the time in which one third octave falls by 30 dB, in the first seating. Reason
// says why it is not known.
type decayJSON struct {
	NominalHz   number `json:"nominal_hz"`
	Seconds     number `json:"seconds"`
	Uncertainty number `json:"uncertainty"` // standard
	HalfWidth95 number `json:"half_width_95"`
	Reason      string `json:"reason,omitempty"`
}

// The limits of the decay map: time after the peak in ms, its step, and the lowest level in dB.
const (
	mapEnd, mapStep = 5.0, 0.1
	mapBottom       = -40.0
	mapMargin       = 3.0 // dB by which a level must be above that of the band filter's own decay
)

// decayPlot draws the remaining energy over frequency and time after the peak, in the first
// seating. It leaves out noise and the decay of the band filter itself.
func (l language) decayPlot(side *review.Side) plot.Plot {
	p := plot.Plot{
		ID: "decay-" + side.Name, Title: l.Text("plot.decay", l.Side(side.Name)),
		X: l.Frequency(100, 20000), Y: plot.Axis{Label: l.Text("axis.after-peak"), Unit: "ms", Min: 0, Max: mapEnd},
		Height:  260,
		Notes:   []string{l.Text("decay.note")},
		Summary: l.Text("decay.summary"),
	}
	decays, err := side.Seatings[0].Transfer.Impulse().Decays(response.DecayConfig{})
	if err != nil || len(decays) == 0 {
		return p
	}
	r := &plot.Raster{Left: decays[0].Band.Low, Right: decays[len(decays)-1].Band.High, Bottom: 0, Top: mapEnd,
		Min: mapBottom, Max: 0, Label: l.Text("decay.scale"), Unit: "dB"}
	for t := mapStep / 2; t < mapEnd; t += mapStep {
		row := make([]float64, len(decays))
		for i, d := range decays {
			row[i] = decayed(d, t/1000)
		}
		r.Values = append(r.Values, row)
	}
	p.Raster = r
	return p
}

// decayWords states where the pair rings longest.
func (l language) decayWords(r *review.Results) string {
	var longest review.Decay
	for _, side := range r.Sides() {
		for _, d := range side.Decay {
			if d.Time.Value > longest.Time.Value {
				longest = d
			}
		}
	}
	if !longest.Time.Known() {
		return l.Text("decay.none")
	}
	return l.Text("decay.longest", 1000*longest.Time.Value, response.FormatFrequency(longest.Band.Nominal))
}

func newDecay(side *review.Side) []decayJSON {
	var out []decayJSON
	for _, d := range side.Decay {
		out = append(out, decayJSON{number(d.Band.Nominal), number(d.Time.Value), number(d.Time.Uncertainty),
			number(halfWidth(d.Time)), d.Reason})
	}
	return out
}

// decayed returns the level of a decay at a time in seconds; NaN where it is not known or not above
// the decay of the band filter. The filter's power falls as exp(−(a t)²), a = π (High − Low)/√ln 2
// (see response.Impulse.Decays), so its energy to come is erfc(a t)/2.
func decayed(d response.Decay, t float64) float64 {
	at := (t - d.Start) / d.Step
	if !(at >= 0 && at < float64(len(d.Level)-1)) { // a band without levels is not known
		return math.NaN()
	}
	i := int(at)
	level := d.Level[i] + (at-float64(i))*(d.Level[i+1]-d.Level[i])
	a := math.Pi * (d.Band.High - d.Band.Low) / math.Sqrt(math.Ln2)
	if own := 10 * math.Log10(math.Erfc(a*t)/2); !(level > own+mapMargin) {
		return math.NaN()
	}
	return level
}
