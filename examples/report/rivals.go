package report

import (
	"slices"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/review"
)

// rivalStyles are those of the pairs beside this one, which is drawn in ink. No more are drawn.
var rivalStyles = []plot.Style{plot.Blue, plot.Vermilion, plot.Green, plot.Violet, plot.Ochre}

// rival is a pair beside this one, moved to where it fits the target best.
type rival struct {
	name  string
	curve response.Curve
	style plot.Style
}

// rivals are the pairs of the ranking but this one, those of the nearest places; left is how many more
// there are.
func rivals(r *review.Results) (own rival, others []rival, left int) {
	places := slices.Clone(r.Judgement.Ranking.Places)
	at := slices.IndexFunc(places, func(p target.Place) bool { return p.Pair == 0 })
	moved := func(k int) response.Curve {
		p := places[k]
		if p.Pair == 0 {
			return r.Mean.Offset(p.Deviation.Offset.Value)
		}
		return r.Judgement.Rivals[p.Pair-1].Seatings[0].Offset(p.Deviation.Offset.Value)
	}
	own = rival{r.About.Name, moved(at), plot.Ink}
	for away := 1; away < len(places); away++ {
		for _, k := range []int{at - away, at + away} {
			if k < 0 || k >= len(places) {
				continue
			}
			if len(others) == len(rivalStyles) {
				left++
				continue
			}
			others = append(others, rival{places[k].Name, moved(k), rivalStyles[len(others)]})
		}
	}
	return own, others, left
}

// more says how many pairs are not drawn.
func (l language) more(left int) []string {
	if left == 0 {
		return nil
	}
	return []string{l.Text("rivals.more", left)}
}

// rivalsPlot draws the responses of all pairs, each where it fits the target best.
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

// rivalDifferencePlot draws the other pairs less this one.
func (l language) rivalDifferencePlot(r *review.Results) plot.Plot {
	own, others, _ := rivals(r)
	p := plot.Plot{
		ID: "rivals-difference", Title: l.Text("plot.rivals-difference"), X: l.Frequency(20, 20000),
		Summary: l.Text("rivals.difference", own.name),
		Notes:   []string{l.Text("rivals.note")},
	}
	for _, one := range others {
		d, err := one.curve.Sub(own.curve)
		if err != nil {
			continue // of another rig, which the ranking has refused before
		}
		p.Series = append(p.Series, curve(one.name, d, d.HalfWidth(confidence), one.style))
	}
	p.Y = levelAxis(l.Text("axis.difference"), p.X, 5, 10, p.Series)
	if p.Y.Max-p.Y.Min <= 20 {
		p.DecibelsPerDecade = 10
	}
	return p
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
		return p // nothing that the response does not show
	}
	for _, side := range r.Sides() {
		for _, s := range side.Seatings {
			p.Series = append(p.Series, curve("", s.Response.Offset(offset), nil, sideStyle[side.Name]))
		}
	}
	for _, side := range r.Sides() {
		p.Series = append(p.Series, curve(l.Text("seatings.mean", l.Side(side.Name)), side.Response().Offset(offset), nil, sideStyle[side.Name]))
	}
	p.Y = levelAxis(l.Text("axis.level"), p.X, 5, 10, p.Series)
	if p.Y.Max-p.Y.Min <= 20 {
		p.DecibelsPerDecade = 10
	}
	return p
}
