package report

import (
	_ "embed"
	"fmt"
	"math"
	"strings"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/change"
	"example.com/earnest/target/review"
)

//go:embed changes.html
var changesText string

// specimenRow is a line of the table of specimens.
type specimenRow struct {
	Name string
	change.Variance
}

// Half returns half of the interval that contains the next specimen.
func (s specimenRow) Half() response.Figure {
	low, high := s.Next.Interval(confidence)
	return response.Figure{Value: (high - low) / 2, Unit: s.Next.Unit}
}

// changePlot draws one condition less another, with the interval for a single frequency and the
// band for the whole curve, over the range of changes that do not matter.
func (l language) changePlot(number int, c *change.Change) plot.Plot {
	band := c.Curve.Valid
	margin := plot.Series{Name: l.Text("conditions.margin", c.Margin), X: []float64{band.Low, band.High},
		Y:   []float64{0, 0},
		Low: []float64{-c.Margin, -c.Margin}, High: []float64{c.Margin, c.Margin}, Style: plot.Green}
	whole := curve(l.Text("conditions.less", c.To, c.From), c.Curve, nil, plot.Blue)
	if !math.IsNaN(c.Possible) {
		whole = curve(whole.Name, c.Curve, c.Simultaneous, plot.Blue)
	}
	alone := curve(l.Text("conditions.alone"), c.Curve, c.Curve.HalfWidth(confidence), plot.Ink)
	p := plot.Plot{
		ID: fmt.Sprintf("change-%d", number), Title: l.Text("conditions.plot", c.To, c.From), X: l.Frequency(20, 20000),
		Summary: plainly(l.translated(c.String())), Series: []plot.Series{margin, whole, alone}, Notes: []string{l.Text("conditions.note")},
		DecibelsPerDecade: 10,
		Unknown:           plot.Outside(l.Frequency(20, 20000), band, l.Text("conditions.outside")),
	}
	if alone.Low == nil {
		p.Series = p.Series[:2] // the other plot shows the same
	}
	p.Y = levelAxis(l.Text("axis.difference"), p.X, 1, max(3, math.Ceil(2*c.Margin)), p.Series)
	if p.Y.Max-p.Y.Min > 20 {
		p.DecibelsPerDecade = 25
	}
	return p
}

// specimensPlot draws each specimen less the mean of all, over the interval of a further one.
func (l language) specimensPlot(s *change.Specimens) plot.Plot {
	x := s.Frequency
	next := plot.Series{Name: l.Text("specimens.next"), X: x, Y: make([]float64, len(x)),
		Low: make([]float64, len(x)), High: make([]float64, len(x)), Style: plot.Green}
	for i, v := range s.Variance {
		low, high := v.Next.Interval(confidence)
		next.Low[i], next.High[i] = (low-high)/2, (high-low)/2
	}
	p := plot.Plot{ID: "specimens", Title: l.Text("specimens.plot"), X: l.Frequency(20, 20000),
		Summary: l.Text("specimens.summary", len(s.Names)), Series: []plot.Series{next}, DecibelsPerDecade: 10}
	for i, d := range s.Deviations {
		if styles := []plot.Style{plot.Ink, plot.Blue, plot.Vermilion, plot.Violet, plot.Ochre}; i < len(styles) {
			p.Series = append(p.Series, curve(s.Names[i], d, nil, styles[i]))
		} else {
			p.Series = append(p.Series, curve("", d, nil, plot.Ink))
		}
	}
	p.Y = levelAxis(l.Text("axis.difference"), p.X, 1, 3, p.Series)
	if p.Y.Max-p.Y.Min > 20 {
		p.DecibelsPerDecade = 25
	}
	return p
}

// changePlots returns the plots of all changes and of specimens.
func (l language) changePlots(r *review.Results) (all []plot.Plot) {
	for i := range r.Changes {
		all = append(all, l.changePlot(i+1, &r.Changes[i]))
	}
	if r.Specimens != nil {
		all = append(all, l.specimensPlot(r.Specimens))
	}
	return all
}

// changeSentences returns the answers for the top of the page, if there are few enough changes.
func (l language) changeSentences(r *review.Results) (all []string) {
	const most = 3
	if len(r.Changes) > most {
		return []string{l.Text("conditions.many", len(r.Changes))}
	}
	for i := range r.Changes {
		c := &r.Changes[i]
		said := plainly(l.translated(c.String()))
		all = append(all, l.Text("conditions.summary", capital(c.To), c.From, strings.ToLower(said[:1])+said[1:]))
	}
	return all
}

// ChangeVerdict returns the verdict on the change of a figure.
func (v *view) ChangeVerdict(f change.FigureChange) string {
	switch {
	case math.IsNaN(f.Adjusted):
		return v.Text("conditions.no-interval")
	case f.Changed:
		return v.Text("conditions.changed")
	}
	return v.Text("conditions.not-apart")
}

// ChangeAnswer returns the verdict on a change.
func (v *view) ChangeAnswer(c change.Change) string {
	switch c.Answer {
	case target.Yes:
		return v.Text("conditions.yes")
	case target.No:
		return v.Text("conditions.no")
	}
	return v.Text("conditions.cannot-tell")
}

// SpecimenRows returns the rows by octave and by figure.
func (v *view) SpecimenRows() (all []specimenRow) {
	s := v.R.Specimens
	last := s.Frequency[len(s.Frequency)-1]
	for _, f := range response.LogGrid(s.Frequency[0], last, 1) {
		all = append(all, specimenRow{v.Hz(f), s.At(f)})
	}
	for _, name := range sortedKeys(s.Figures) {
		all = append(all, specimenRow{name, s.Figures[name]})
	}
	return all
}
