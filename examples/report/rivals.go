package report

import (
	"slices"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/review"
)

// rivalStyles are the styles of the other pairs. This one is drawn in ink. No more are drawn than
// there are styles.
var rivalStyles = []plot.Style{plot.Blue, plot.Vermilion, plot.Green, plot.Violet, plot.Ochre}

// rival is another pair, shifted in level to fit the target best.
type rival struct {
	name  string
	pair  int // of the ranking: 0 is this one
	curve response.Curve
	style plot.Style
}

// pairDifference is a pair less the chosen one.
type pairDifference struct {
	rival
	target.Deviation
}

// Name returns the name of the pair.
func (d pairDifference) Name() string { return d.name }

// Mean returns the mean difference in the octave of a nominal frequency; not known if there is
// none.
func (d pairDifference) Mean(nominal float64) response.Figure {
	for _, o := range d.Octaves {
		if o.Nominal == nominal {
			return o.Mean
		}
	}
	return response.Figure{}
}

// differencesJSON holds the pairs less the chosen one.
type differencesJSON struct {
	To    string               `json:"to"`
	Pairs []pairDifferenceJSON `json:"pairs"`
}

// newDifferences returns nil without rivals.
func newDifferences(r *review.Results) *differencesJSON {
	if r.Judgement.Ranking == nil {
		return nil
	}
	chosen, all := differences(r)
	out := &differencesJSON{To: chosen.name, Pairs: []pairDifferenceJSON{}}
	for _, d := range all {
		whole := newDeviation(d.Deviation)
		out.Pairs = append(out.Pairs, pairDifferenceJSON{d.name, numbers(d.curve.Frequency), numbers(d.curve.Level),
			numbers(d.curve.HalfWidth(confidence)), whole.RMS, whole.Widest, whole.Octaves})
	}
	return out
}

type pairDifferenceJSON struct {
	Name        string       `json:"name"`
	FrequencyHz []number     `json:"frequency_hz"`
	LevelDB     []number     `json:"level_db"`
	HalfWidth95 []number     `json:"half_width_95_db"`
	RMS         figureJSON   `json:"rms"`
	Largest     widestJSON   `json:"largest"`
	Octaves     []octaveJSON `json:"octaves"`
}

// more states how many pairs are not drawn.
func (l language) more(left int) []string {
	if left == 0 {
		return nil
	}
	return []string{l.Text("rivals.more", left)}
}

// rivalsPlot draws the responses of all pairs, each shifted to fit the target best.
func (l language) rivalsPlot(r *review.Results) plot.Plot {
	own, others, left := rivals(r)
	p := plot.Plot{
		ID: "rivals-response", Title: l.Text("plot.rivals"), X: l.Frequency(20, 20000),
		Summary: l.Text("rivals.summary", own.name, len(others)),
		Notes:   l.more(left), DecibelsPerDecade: 25,
	}
	for _, one := range append(others, own) {
		p.Series = append(p.Series, curve(one.name, one.curve, one.curve.HalfWidth(confidence), one.style))
	}
	p.Y = levelAxis(l.Text("axis.level"), p.X, 5, 10, p.Series)
	if p.Y.Max-p.Y.Min <= 20 {
		p.DecibelsPerDecade = 10
	}
	return p
}

// rivalDifferencePlot draws the other pairs less the chosen one.
func (l language) rivalDifferencePlot(r *review.Results) plot.Plot {
	chosen, all := differences(r)
	p := plot.Plot{
		ID: "rivals-difference", Title: l.Text("plot.rivals-difference", chosen.name), X: l.Frequency(20, 20000),
		Summary: l.Text("rivals.difference", len(all), chosen.name),
		Notes:   []string{l.Text("rivals.note", chosen.name)},
	}
	for _, d := range all {
		p.Series = append(p.Series, curve(d.name, d.curve, d.curve.HalfWidth(confidence), d.style))
	}
	p.Y = levelAxis(l.Text("axis.difference"), p.X, 5, 10, p.Series)
	if p.Y.Max-p.Y.Min <= 20 {
		p.DecibelsPerDecade = 10
	}
	return p
}

// Differences returns the figures of the differences for the page.
func (v *view) Differences() (out struct {
	To    string
	Pairs []pairDifference
}) {
	chosen, all := differences(v.R)
	out.To, out.Pairs = chosen.name, all
	return out
}

// seatingsPlot draws every seating behind the means.
func (l language) seatingsPlot(r *review.Results) plot.Plot {
	offset := r.Judgement.Mean.Offset.Value
	p := plot.Plot{
		ID: "seatings", Title: l.Text("plot.seatings"), X: l.Frequency(20, 20000),
		Summary: l.Text("seatings.summary", r.Seatings),
		Notes:   []string{l.Text("seatings.note")},
	}
	if r.Seatings < 2 {
		return p // the response plot shows the same
	}
	for _, side := range r.Sides() {
		for _, s := range side.Seatings {
			p.Series = append(p.Series, curve("", s.Response.Offset(offset), nil, sideStyle[side.Name]))
		}
	}
	for _, side := range r.Sides() {
		p.Series = append(p.Series, curve(l.Text("seatings.mean", l.Side(side.Name)), side.Response().Offset(offset),
			nil, sideStyle[side.Name]))
	}
	p.Y = levelAxis(l.Text("axis.level"), p.X, 5, 10, p.Series)
	if p.Y.Max-p.Y.Min <= 20 {
		p.DecibelsPerDecade = 10
	}
	return p
}

// rivals returns pairs of the ranking: this one, those in the nearest places, and the chosen one;
// left is the number of pairs left out.
func rivals(r *review.Results) (own rival, others []rival, left int) {
	j := r.Judgement
	places := slices.Clone(j.Ranking.Places)
	at := slices.IndexFunc(places, func(p target.Place) bool { return p.Pair == 0 })
	moved := func(p target.Place, style plot.Style) rival {
		curve := r.Mean
		if p.Pair > 0 {
			curve = j.Rivals[p.Pair-1].Seatings[0]
		}
		return rival{p.Name, p.Pair, curve.Offset(p.Deviation.Offset.Value), style}
	}
	own = moved(places[at], plot.Ink)
	nearest := slices.Delete(places, at, at+1)
	slices.SortStableFunc(nearest, func(a, b target.Place) int { return distance(r, a) - distance(r, b) })
	for _, p := range nearest {
		if len(others) == len(rivalStyles) {
			break
		}
		others = append(others, moved(p, rivalStyles[len(others)]))
	}
	return own, others, len(nearest) - len(others)
}

// distance returns the number of places between a pair and this one, and 0 for the chosen pair.
func distance(r *review.Results, p target.Place) int {
	places := r.Judgement.Ranking.Places
	at := func(pair int) int {
		return slices.IndexFunc(places, func(p target.Place) bool { return p.Pair == pair })
	}
	if p.Pair == r.Judgement.Chosen {
		return 0
	}
	return max(at(p.Pair)-at(0), at(0)-at(p.Pair))
}

// differences returns the drawn pairs less the chosen one, which is this pair if none was chosen.
func differences(r *review.Results) (chosen rival, all []pairDifference) {
	own, others, _ := rivals(r)
	pairs := append([]rival{own}, others...)
	at := slices.IndexFunc(pairs, func(p rival) bool { return p.pair == r.Judgement.Chosen })
	chosen = pairs[at]
	for _, one := range slices.Delete(pairs, at, at+1) {
		less := chosen.curve
		if one.curve.Rig != less.Rig {
			less.Rig = "" // allowed by the criteria; the ranking has a warning
		}
		d, err := one.curve.Sub(less)
		if err != nil {
			continue
		}
		one.curve = d
		deviation, err := target.CompareSides([]response.Curve{d}, r.Judgement.Ranking.Band, target.Config{})
		if err != nil {
			continue // the two have no known frequency in common
		}
		all = append(all, pairDifference{one, deviation})
	}
	return chosen, all
}
