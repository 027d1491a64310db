package report

import (
	"encoding/csv"
	"io"
	"math"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/target/review"
)

// furtherFile has the results of the stimulus's further parts.
const furtherFile = "further.csv"

// writeFurther writes side, quantity, frequency_hz, played_dbfs, value, unit, low_95, high_95: one
// figure a row, empty if not known. For a figure below its floor, high_95 is the bound.
func writeFurther(w io.Writer, r *review.Results) error {
	out := csv.NewWriter(w)
	out.Write([]string{"side", "quantity", "frequency_hz", "played_dbfs", "value", "unit", "low_95", "high_95"})
	for _, s := range r.Sides() {
		f := further(s)
		if f == nil {
			continue
		}
		row := func(quantity string, at, played, value float64, unit string, low, high float64) {
			out.Write([]string{s.Name, quantity, number(at).String(), number(played).String(), number(value).String(), unit,
				number(low).String(), number(high).String()})
		}
		figure := func(quantity string, at, played float64, v response.Figure) {
			low, high := v.Interval(confidence)
			row(quantity, at, played, v.Value, v.Unit, low, high)
		}
		reading := func(quantity string, at, played float64, v distortion.Reading) {
			low, high := allowed95(v)
			row(quantity, at, played, v.Value, v.Unit, low, high)
		}
		none := math.NaN()
		for _, t := range s.SteadyTones() {
			reading("distortion by tone", t.Frequency, t.Played, t.THD.Reading)
			reading("distortion by sweep", t.Frequency, t.Played, bySweep(r, s, t).Reading)
			figure("THD+N", t.Frequency, t.Played, t.THDPlusN)
		}
		for _, at := range levelFrequencies {
			for _, p := range s.LevelsAt(at) {
				reading("distortion against level", at, p.Played, p.THD.Reading)
				figure("compression", at, p.Played, p.Compression)
			}
		}
		for _, m := range s.MaxLevels() {
			row("highest level at a distortion: "+reached(m), m.Frequency, m.Played, m.Percent, "%", none, none)
		}
		if f.Modulation != nil {
			reading("modulation distortion", f.Modulation.Upper.Frequency, r.Config.Stimulus.Level(), f.Modulation.Total.Reading)
		}
		if f.Difference != nil {
			reading("difference-frequency distortion, second order", f.Difference.Upper.Frequency, r.Config.Stimulus.Level(),
				f.Difference.Second.Reading)
		}
		if f.Many != nil {
			for _, b := range f.Many.Bands {
				reading("distortion of many tones", b.Frequency, r.Config.Stimulus.Level(), b.Distortion)
			}
		}
		if c := s.Crosstalk(); c != nil {
			for i, at := range c.Level.Frequency {
				row("crosstalk", at, none, c.Level.Level[i], "dB", none, none)
			}
		}
		d := s.GroupDelay()
		half := d.HalfWidth(confidence)
		for i, at := range d.Frequency {
			low, high := none, none
			if half != nil {
				low, high = d.Level[i]-half[i], d.Level[i]+half[i]
			}
			row("group delay", at, none, d.Level[i], "ms", low, high)
		}
	}
	out.Flush()
	return out.Error()
}
