package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"slices"

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
		f := s.Further
		if f == nil {
			continue
		}
		row := func(quantity string, at, played, value float64, unit string, low, high float64) {
			out.Write([]string{s.Name, quantity, number(at).String(), number(played).String(),
				number(value).String(), unit,
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
		for _, q := range f.Held {
			holding := 0
			for _, one := range newHeld(s) {
				if slices.Contains(one.Parts, q) {
					holding++
				}
			}
			row("seatings that hold parts for "+string(q), none, none, float64(holding), "1", none, none)
		}
		for _, t := range f.Tones {
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
		for _, m := range s.MaxLevels {
			quantity := fmt.Sprintf("highest level at %g %% distortion: %s", m.Percent, reached(m))
			figure(quantity, m.Frequency, none, m.Played)
			if m.Sound.Known() {
				figure(quantity, m.Frequency, none, m.Sound)
			}
		}
		if f.Modulation != nil {
			reading("modulation distortion", f.Modulation.Upper.Frequency, r.Config.Stimulus.Level(),
				f.Modulation.Total.Reading)
		}
		if f.Difference != nil {
			reading("difference-frequency distortion, second order", f.Difference.Upper.Frequency,
				r.Config.Stimulus.Level(),
				f.Difference.Second.Reading)
			reading("difference-frequency distortion, third order", f.Difference.Upper.Frequency,
				r.Config.Stimulus.Level(),
				f.Difference.Third.Reading)
		}
		if f.Many != nil {
			for _, b := range f.Many.Bands {
				reading("distortion of many tones", b.Frequency, r.Config.Stimulus.Level(), b.Distortion)
			}
		}
		curve := func(quantity string, c response.Curve, unit string) {
			half := c.HalfWidth(confidence)
			for i, at := range c.Frequency {
				low, high := none, none
				if half != nil {
					low, high = c.Level[i]-half[i], c.Level[i]+half[i]
				}
				row(quantity, at, none, c.Level[i], unit, low, high)
			}
		}
		if c := f.Crosstalk; c != nil {
			for _, at := range c.Level.Frequency {
				reading("crosstalk", at, none, c.At(at))
			}
			if g := r.CommonGround(s); g != nil {
				curve("crosstalk by a shared return", g.Common, "dB")
				curve("crosstalk, the rest", g.Leak, "dB")
			}
		}
		for _, b := range s.RubBuzz {
			reading("rub and buzz", b.Frequency, r.Config.Stimulus.Level(), b.Level)
			row("seatings that rub or buzz", b.Frequency, r.Config.Stimulus.Level(), float64(b.Rattles), "1", none, none)
		}
		curve("group delay", s.GroupDelay, "ms")
	}
	out.Flush()
	return out.Error()
}
