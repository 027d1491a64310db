package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.com/earnest/distortion"
	"example.com/earnest/examples/report/plot"
	"example.com/earnest/target"
	"example.com/earnest/target/review"
)

// distortionJSON is harmonics against the frequency of the fundamental, of the first seating, and
// their total over all of them.
type distortionJSON struct {
	Seating       string      `json:"seating"`
	FundamentalHz []number    `json:"fundamental_hz"`
	Orders        []orderJSON `json:"orders"`
	// THD relative to the fundamental and to the total, null where it is within 6 dB of its floor,
	// and the highest order that it contains.
	THDToFundamental []number `json:"thd_to_fundamental_percent"`
	THDToTotal       []number `json:"thd_to_total_percent"`
	HighestOrder     []int    `json:"thd_highest_order"`
	// OfSeatings is relative to the fundamental, at octaves of 1 kHz.
	OfSeatings []thdJSON `json:"thd_of_seatings"`
}

// thdJSON is the mean over the seatings, null where one does not tell it from its floor. Its
// uncertainty is null with one seating.
type thdJSON struct {
	FundamentalHz number     `json:"fundamental_hz"`
	Percent       figureJSON `json:"percent"`
	AtMost        number     `json:"at_most_percent"` // with 95 % confidence
}

// orderJSON is one harmonic relative to the fundamental. Level is null where it is within 6 dB of the
// floor: what is then known is the bound, which holds with 95 % confidence.
type orderJSON struct {
	Order       int      `json:"order"`
	LevelDB     []number `json:"level_db"`
	Uncertainty []number `json:"uncertainty_db"`
	FloorDB     []number `json:"floor_db"`
	BoundDB     []number `json:"bound_db"`
}

func newDistortion(side *review.Side) distortionJSON {
	r := side.Seatings[0]
	hs := r.Harmonics
	toFundamental, toTotal := hs.THD(distortion.ToFundamental), hs.THD(distortion.ToTotal)
	d := distortionJSON{
		Seating: r.Name, FundamentalHz: numbers(hs.Fundamental),
		THDToFundamental: numbers(scaled(totalAbove(toFundamental), 100)), THDToTotal: numbers(scaled(totalAbove(toTotal), 100)),
		HighestOrder: toFundamental.Highest,
	}
	for _, o := range hs.Orders {
		d.Orders = append(d.Orders, orderJSON{o.N, numbers(above(o)), numbers(o.Uncertainty), numbers(o.Floor), numbers(bounds(hs, o))})
	}
	for _, t := range side.THDByOctave(distortion.ToFundamental) {
		d.OfSeatings = append(d.OfSeatings, newTHD(t))
	}
	return d
}

func newTHD(t target.THD) thdJSON {
	_, most := t.Percent.Interval(confidence)
	if t.Below {
		t.Percent.Value, t.Percent.Uncertainty, most = math.NaN(), math.NaN(), t.Bound
	} else if ofOne(t) {
		t.Percent.Uncertainty, most = math.NaN(), math.NaN()
	}
	return thdJSON{number(t.Frequency), newFigure(t.Percent), number(most)}
}

// above is the level of an order where it stands clear of its floor, and not
// known elsewhere.
func above(o distortion.Order) []float64 {
	level := slices.Clone(o.Level)
	for i, below := range o.Below() {
		if below {
			level[i] = math.NaN()
		}
	}
	return level
}

// totalAbove is the ratio where it stands clear of its floor, and not known
// elsewhere.
func totalAbove(t distortion.THD) []float64 {
	ratio := slices.Clone(t.Ratio)
	for i, f := range t.Fundamental {
		if t.Figure(f).Below {
			ratio[i] = math.NaN()
		}
	}
	return ratio
}

// bounds are the levels that an order does not exceed, with 95 % confidence; nil without a floor.
func bounds(hs *distortion.HarmonicSet, o distortion.Order) []float64 {
	if o.Floor == nil {
		return nil
	}
	out := make([]float64, len(hs.Fundamental))
	for i, f := range hs.Fundamental {
		out[i] = hs.Figure(o.N, f).Bound()
	}
	return out
}

// ratioLevels are amplitude ratios in dB.
func ratioLevels(ratio []float64) []float64 {
	level := make([]float64, len(ratio))
	for i, v := range ratio {
		level[i] = 20 * math.Log10(v)
	}
	return level
}

// distortionPlot draws the harmonics of one side where they stand clear of
// their floor, their total, and the floor as a floor.
func distortionPlot(side *review.Side, sweepLevel float64) plot.Plot {
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
		p.Series = append(p.Series, plot.Series{Name: plot.Ordinal(o.N) + " harmonic", X: hs.Fundamental, Y: above(o), Style: styles[i]})
	}
	thd := hs.THD(distortion.ToFundamental)
	if thd.Floor != nil {
		p.Series = append(p.Series, plot.Series{Name: "floor of this measurement", X: hs.Fundamental, Y: ratioLevels(thd.Floor), Style: plot.Ochre, Kind: plot.Floor})
	}
	p.Series = append(p.Series, plot.Series{Name: "total (THD)", X: hs.Fundamental, Y: ratioLevels(totalAbove(thd)), Style: plot.Ink})
	p.Summary = fmt.Sprintf("Total harmonic distortion of the %s side is %s at 100 Hz, %s at 1 kHz and %s at 5 kHz.",
		side.Name, thdAt(side, 100), thdAt(side, 1000), thdAt(side, 5000))
	return p
}

// Percent is a distortion with its 95 % interval over the seatings, or the bound
// where it is not above its floor.
func Percent(t target.THD) string {
	switch {
	case !t.Percent.Known():
		return "not known"
	case t.Below && math.IsNaN(t.Bound):
		return "below the floor of this measurement"
	case t.Below:
		return "below the floor of this measurement (at most " + twoDigits(t.Bound) + " %)"
	case ofOne(t):
		return twoDigits(t.Percent.Value) + " %"
	}
	return Interval(t.Percent)
}

// ofOne tells whether the figure is of one seating, whose uncertainty is the noise's alone.
func ofOne(t target.THD) bool { return t.Percent.DegreesOfFreedom == 0 }

// twoDigits are kept with a last zero.
func twoDigits(v float64) string { return strings.TrimSuffix(fmt.Sprintf("%#.2g", v), ".") }
