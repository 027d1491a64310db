package report

import (
	"math"
	"strings"

	"example.com/earnest/distortion"
	"example.com/earnest/examples/report/plot"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
	"example.com/earnest/target/review"
)

// distortionJSON holds the harmonics against the frequency of the fundamental, of the first
// seating, and the total distortion over all seatings.
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

func newDistortion(side *review.Side) distortionJSON {
	r := side.Seatings[0]
	hs := r.Harmonics
	d := distortionJSON{Seating: r.Name, FundamentalHz: numbers(hs.Fundamental), Orders: []orderJSON{},
		HighestOrder: []int{}}
	for _, f := range hs.Fundamental {
		thd := hs.THD(f)
		d.THDToFundamental = append(d.THDToFundamental, number(thd.Value))
		d.THDToTotal = append(d.THDToTotal, number(thd.ReTotal().Value))
		highest := 0
		if n := len(thd.Contains); n > 0 {
			highest = thd.Contains[n-1]
		}
		d.HighestOrder = append(d.HighestOrder, highest)
	}
	for _, o := range hs.Orders {
		d.Orders = append(d.Orders,
			orderJSON{o.N, numbers(o.Level()), numbers(o.Uncertainty), numbers(o.Floor), numbers(bounds(o))})
	}
	for _, f := range response.LogGrid(50, 8000, 1) {
		d.OfSeatings = append(d.OfSeatings, newTHD(side.THD(f)))
	}
	return d
}

// thdJSON is the mean over the seatings, null if it is not clear of its floor in one of them. Its
// uncertainty is null with one seating.
type thdJSON struct {
	FundamentalHz number     `json:"fundamental_hz"`
	Percent       figureJSON `json:"percent"`
	AtMost        number     `json:"at_most_percent"` // with 95 % confidence
}

func newTHD(t distortion.THD) thdJSON {
	_, most := t.Interval(confidence)
	if t.Below {
		most = t.Bound
	} else if ofOne(t) {
		t.Uncertainty, most = math.NaN(), math.NaN()
	}
	return thdJSON{number(t.Frequency), newFigure(t.Figure), number(most)}
}

// orderJSON is one harmonic relative to the fundamental. Level is null within 6 dB of the floor.
// Only the bound is then known, with 95 % confidence.
type orderJSON struct {
	Order       int      `json:"order"`
	LevelDB     []number `json:"level_db"`
	Uncertainty []number `json:"uncertainty_db"`
	FloorDB     []number `json:"floor_db"`
	BoundDB     []number `json:"bound_db"`
}

// distortionPlot draws the harmonics of one side where they are clear of their floor, their total,
// and the floor.
func (l language) distortionPlot(side *review.Side, sweepLevel float64) plot.Plot {
	r := side.Seatings[0]
	hs := r.Harmonics
	p := plot.Plot{
		ID: "distortion-" + side.Name, Title: l.Text("plot.distortion", l.Side(side.Name), l.Name(r.Name)),
		X:                 plot.Axis{Label: l.Text("axis.fundamental"), Unit: "Hz", Min: 20, Max: 20000, Log: true},
		Y:                 plot.Axis{Label: l.Text("axis.re-fundamental"), Unit: "dB", Min: -110, Max: -20},
		DecibelsPerDecade: 50,
		Notes:             []string{l.Text("distortion.note", sweepLevel, l.Name(hs.Rig))},
	}
	styles := []plot.Style{plot.Blue, plot.Vermilion, plot.Green, plot.Violet}
	for i, o := range hs.Orders[:min(len(styles), len(hs.Orders))] {
		p.Series = append(p.Series, plot.Series{Name: l.Text("distortion.harmonic", plot.Ordinal(o.N), o.N),
			X: hs.Fundamental, Y: o.Level(), Style: styles[i]})
	}
	var total, floor []float64
	for _, f := range hs.Fundamental {
		thd := hs.THD(f)
		total, floor = append(total, decibel.OfAmplitude(thd.Value/100)), append(floor, decibel.OfAmplitude(thd.Floor/100))
	}
	if len(hs.Orders) > 0 && hs.Orders[0].Floor != nil {
		p.Series = append(p.Series, plot.Series{Name: l.Text("distortion.floor"),
			X: hs.Fundamental, Y: floor, Style: plot.Ochre, Kind: plot.Floor})
	}
	p.Series = append(p.Series, plot.Series{Name: l.Text("distortion.total"), X: hs.Fundamental, Y: total,
		Style: plot.Ink})
	p.Summary = l.Text("distortion.summary", l.Side(side.Name), l.thdAt(side, 100), l.thdAt(side, 1000),
		l.thdAt(side, 5000))
	return p
}

func (l language) percent(t distortion.THD) string {
	switch {
	case t.Below && math.IsNaN(t.Bound):
		return l.Text("distortion.below")
	case t.Below:
		return l.Text("distortion.bound", l.twoDigits(t.Bound))
	case !t.Known():
		return l.Text("page.not-known")
	case ofOne(t):
		return l.twoDigits(t.Value) + " %"
	}
	return l.Interval(t.Figure)
}

// twoDigits formats two significant digits, keeping a last zero.
func (l language) twoDigits(v float64) string {
	return strings.TrimSuffix(l.Number("%#.2g", v), l.Decimal)
}

// Percent returns a distortion with its 95 % interval over the seatings, or its upper bound if it
// is not above its floor.
func Percent(t distortion.THD) string { return english.percent(t) }

// bounds returns the upper bounds of an order with 95 % confidence; nil without a floor.
func bounds(o distortion.Order) []float64 {
	if o.Floor == nil {
		return nil
	}
	out := make([]float64, len(o.Fundamental))
	for i, f := range o.Fundamental {
		out[i] = o.At(f).Bound
	}
	return out
}

// ofOne reports whether the figure comes from one seating, so that its uncertainty is only that of
// the noise: the mean of several has a budget.
func ofOne(t distortion.THD) bool { return t.Budget == nil }
