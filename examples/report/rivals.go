package report

import (
	"fmt"
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
func more(left int) []string {
	if left == 0 {
		return nil
	}
	return []string{fmt.Sprintf("The pairs of the nearest places; %d more are in the ranking.", left)}
}

// rivalsPlot draws the responses of all pairs, each where it fits the target best.
func rivalsPlot(r *review.Results) plot.Plot {
	own, others, left := rivals(r)
	p := plot.Plot{
		ID: "rivals-response", Title: "Responses of all pairs", X: plot.Frequency(20, 20000),
		Summary: fmt.Sprintf("The responses of %s and %d other pairs, each moved to where it fits the target best.",
			own.name, len(others)),
		Notes: more(left), DecibelsPerDecade: 25,
	}
	for _, one := range append(others, own) {
		p.Series = append(p.Series, curve(one.name, one.curve, one.curve.HalfWidth(confidence), one.style))
	}
	p.Y = levelAxis("Level", p.X, 5, 10, p.Series)
	if p.Y.Max-p.Y.Min <= 20 {
		p.DecibelsPerDecade = 10
	}
	return p
}

// rivalDifferencePlot draws the other pairs less this one.
func rivalDifferencePlot(r *review.Results) plot.Plot {
	own, others, _ := rivals(r)
	p := plot.Plot{
		ID: "rivals-difference", Title: "The others less this one", X: plot.Frequency(20, 20000),
		Summary: fmt.Sprintf("The responses of other pairs less that of %s.", own.name),
		Notes: []string{"Above zero the other is stronger there. What all pairs have in common on this rig, " +
			"such as the microphone, has dropped out of the shaded 95 %."},
	}
	for _, one := range others {
		d, err := one.curve.Sub(own.curve)
		if err != nil {
			continue // of another rig, which the ranking has refused before
		}
		p.Series = append(p.Series, curve(one.name, d, d.HalfWidth(confidence), one.style))
	}
	p.Y = levelAxis("Difference", p.X, 5, 10, p.Series)
	if p.Y.Max-p.Y.Min <= 20 {
		p.DecibelsPerDecade = 10
	}
	return p
}

// seatingsPlot draws every seating behind the means.
func seatingsPlot(r *review.Results) plot.Plot {
	offset := r.Judgement.Mean.Offset.Value
	p := plot.Plot{
		ID: "seatings", Title: "Every seating behind the mean", X: plot.Frequency(20, 20000),
		Summary: fmt.Sprintf("The responses in %d seatings, and the mean of each side.", r.Seatings),
		Notes:   []string{"Thin: one seating each. The fit decides the bass, and millimetres decide the treble."},
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
		p.Series = append(p.Series, curve(side.Name+", mean", side.Response().Offset(offset), nil, sideStyle[side.Name]))
	}
	p.Y = levelAxis("Level", p.X, 5, 10, p.Series)
	if p.Y.Max-p.Y.Min <= 20 {
		p.DecibelsPerDecade = 10
	}
	return p
}
