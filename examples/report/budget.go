package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response"
	"example.com/earnest/target/review"
)

// budgetJSON holds the components of the figures' uncertainty.
type budgetJSON struct {
	// Response holds the contribution of each component to the standard uncertainty of the mean
	// response.
	Response responseBudgetJSON `json:"response"`
	Figures  []figureBudgetJSON `json:"figures"`
	// NotIncluded names the usual components that are not stated and so not included in any
	// interval.
	NotIncluded []string `json:"not_included"`
}

func newBudget(r *review.Results) budgetJSON {
	thirds := r.Mean.Resample(response.LogGrid(20, 20000, 3))
	out := budgetJSON{
		Response: responseBudgetJSON{FrequencyHz: numbers(thirds.Frequency),
			Components: append([]curveComponentJSON{}, layers(thirds)...)},
		Figures: []figureBudgetJSON{}, NotIncluded: list(r.NotIncluded),
	}
	for _, f := range english.figureBudgets(r) {
		one := figureBudgetJSON{Figure: f.Words, Unit: f.Unit, Uncertainty: number(f.Uncertainty),
			Components: []componentJSON{}, Halve: english.Halve(f)}
		for _, c := range f.parts {
			one.Components = append(one.Components, componentJSON{c.Name, c.CommonTo.String(),
				number(math.Sqrt(c.Variance())),
				number(c.Variance() / (f.Uncertainty * f.Uncertainty))})
		}
		out.Figures = append(out.Figures, one)
	}
	return out
}

type responseBudgetJSON struct {
	FrequencyHz []number             `json:"frequency_hz"`
	Components  []curveComponentJSON `json:"components"`
}

type curveComponentJSON struct {
	Name        string   `json:"name"`
	CommonTo    string   `json:"common_to"`
	Uncertainty []number `json:"uncertainty_db"`
}

type figureBudgetJSON struct {
	Figure      string          `json:"figure"`
	Unit        string          `json:"unit"`
	Uncertainty number          `json:"uncertainty"`
	Components  []componentJSON `json:"components"` // the largest first
	Halve       string          `json:"halve"`      // what would halve the interval; empty without uncertainty
}

type componentJSON struct {
	Name        string `json:"name"`
	CommonTo    string `json:"common_to"`
	Uncertainty number `json:"uncertainty"`
	Share       number `json:"share"` // of the variance, 0 to 1
}

// figureBudget is a figure with its words and its components, each name once.
type figureBudget struct {
	Words, Term string // and the id of its definition
	response.Figure
	parts    []response.Component
	seatings int
}

// Share returns a component's share of the variance in per cent; "" if it has none.
func (f figureBudget) Share(name string) string {
	for _, c := range f.parts {
		if share := 100 * c.Variance() / (f.Uncertainty * f.Uncertainty); c.Name == name && share >= 0.5 {
			return fmt.Sprintf("%.0f", share)
		}
	}
	return "–"
}

// figureBudgets returns the budgets of the main figures that are known.
func (l language) figureBudgets(r *review.Results) []figureBudget {
	j := r.Judgement
	all := []figureBudget{{Words: l.Text("budget.rms"), Term: "rms", Figure: j.Mean.RMS},
		{Words: l.Text("budget.tilt"), Term: "tilt", Figure: j.Mean.Tilt}}
	if j.Difference != nil {
		all = append(all, figureBudget{Words: l.Text("budget.match"), Term: "match", Figure: j.Difference.RMS})
	}
	if r.Sound != nil {
		all = append(all, figureBudget{Words: l.Text("budget.sensitivity"), Term: "sensitivity", Figure: r.Sound.PerVolt})
	}
	distortion := r.Sides()[0].THD(1000).Figure
	if distortion.Budget == nil && distortion.DegreesOfFreedom > 0 { // with several seatings
		distortion.Budget = response.Budget{{Cause: response.Cause{Name: response.ScatterOfSeatings,
			CommonTo: response.OneSeating, DegreesOfFreedom: distortion.DegreesOfFreedom},
			Effects: []float64{distortion.Uncertainty}}}
	}
	all = append(all, figureBudget{Words: l.Text("budget.thd"), Term: "thd", Figure: distortion})
	var out []figureBudget
	for _, f := range all {
		if f.Known() && f.Uncertainty > 0 && len(f.Budget) > 0 {
			f.seatings, f.parts = len(r.Sides()[0].Seatings), merged(f.Budget)
			out = append(out, f)
		}
	}
	return out
}

// remedy returns what reduces a component.
func (l language) remedy(name string) string {
	if text, there := l.Texts["remedy"][name]; there {
		return text
	}
	return l.Text("budget.smaller", l.Component(name))
}

// Halve returns what would halve the interval: more seatings, one component removed, or the
// smallest combination of these.
func (l language) Halve(f figureBudget) string {
	goal := halfWidthWithout(f.parts, f.seatings, 0, nil) / 2
	const most = 20 // largest number of seatings to suggest
	for without := 0; without <= len(f.parts); without++ {
		var names, words []string
		for _, c := range f.parts {
			if c.DegreesOfFreedom == 0 && len(names) < without {
				names = append(names, c.Name)
				words = append(words, l.remedy(c.Name))
			}
		}
		if len(names) < without {
			break
		}
		for more := range most + 1 {
			if halfWidthWithout(f.parts, f.seatings, more, names) > goal {
				continue
			}
			switch {
			case more == 1:
				words = append(words, l.Text("budget.one-more"))
			case more > 1:
				words = append(words, l.Text("budget.more", more))
			}
			return strings.Join(words, l.Text("list.and"))
		}
	}
	return l.Text("budget.none", most)
}

// budgetPlot stacks the components of the mean response. The upper edge is its standard
// uncertainty, divided among the layers by their shares of the variance.
func (l language) budgetPlot(r *review.Results) plot.Plot {
	all, thin := seen(layers(r.Mean))
	c := r.Mean
	const most = 6 // number of styles
	low := make([]float64, len(c.Frequency))
	p := plot.Plot{
		ID: "unsure", Title: l.Text("plot.unsure"),
		X:     l.Frequency(20, 20000),
		Notes: []string{l.Text("unsure.note")},
	}
	if len(thin) > 0 {
		p.Notes = append(p.Notes, l.Text("unsure.thin", strings.Join(l.components(thin), ", ")))
	}
	var names []string
	highest := 0.0
	for k := range min(len(all), most) {
		part := all[k : k+1]
		s := plot.Series{Name: l.Component(all[k].Name), X: c.Frequency, Style: plot.Style(k)}
		if k == most-1 && len(all) > most {
			part, s.Name = all[k:], l.Text("unsure.else")
		}
		for i := range c.Frequency {
			whole := variance(all, i)
			top := low[i] + variance(part, i)/math.Sqrt(whole)
			if whole == 0 {
				top = 0
			}
			s.Low, s.High, s.Y = append(s.Low, low[i]), append(s.High, top), append(s.Y, top)
			if top > highest {
				highest = top
			}
			low[i] = top
		}
		names = append(names, s.Name)
		p.Series = append(p.Series, s)
	}
	slices.Reverse(p.Series) // the legend goes from the top down
	p.Summary = l.Text("unsure.summary", strings.Join(names, ", "))
	step := math.Pow(10, math.Floor(math.Log10(max(highest, 1e-3))))
	p.Height = 300 // no level of IEC 60263
	p.Y = plot.Axis{Label: l.Text("axis.uncertainty"), Unit: "dB", Min: 0, Max: step * math.Ceil(max(highest, 1e-3)/step)}
	p.Unknown = plot.Outside(p.X, c.Valid, l.Text("page.not-known"))
	return p
}

// Budgets returns those of the page's figures, and BudgetNames the names of all their components.
func (v *view) Budgets() []figureBudget { return v.figureBudgets(v.R) }

func (v *view) BudgetNames() []string {
	var names []string
	for _, f := range v.figureBudgets(v.R) {
		for _, c := range f.parts {
			if !slices.Contains(names, c.Name) && f.Share(c.Name) != "–" {
				names = append(names, c.Name)
			}
		}
	}
	return names
}

// NotIncluded returns the components that are not stated, as one phrase.
func (v *view) NotIncluded() string {
	var out []string
	for _, name := range v.R.NotIncluded {
		out = append(out, v.Plain(name))
	}
	return strings.Join(out, "; ")
}

// merged returns the components of a budget, with those of one name combined, the largest first.
func merged(b response.Budget) []response.Component {
	var out []response.Component
	for _, c := range b {
		if !(c.Variance() > 0) {
			continue
		}
		i := slices.IndexFunc(out, func(have response.Component) bool { return have.Name == c.Name })
		if i < 0 {
			out, i = append(out, response.Component{Cause: c.Cause}), len(out)
		}
		out[i].Effects = append(out[i].Effects, c.Effects...)
	}
	slices.SortStableFunc(out, func(a, b response.Component) int { return cmp.Compare(b.Variance(), a.Variance()) })
	return out
}

// halfWidthWithout returns half of the 95 % interval after more seatings and without some of the
// components.
func halfWidthWithout(parts []response.Component, seatings, more int, without []string) float64 {
	left := response.Budget{}
	for _, c := range parts {
		if slices.Contains(without, c.Name) {
			continue
		}
		if c.DegreesOfFreedom > 0 && c.Name != "samples" && seatings > 1 {
			c.DegreesOfFreedom *= float64(seatings+more-1) / float64(seatings-1)
			scaled := make([]float64, len(c.Effects))
			for i, e := range c.Effects {
				scaled[i] = e * math.Sqrt(float64(seatings)/float64(seatings+more))
			}
			c.Effects = scaled
		}
		left = append(left, c)
	}
	return halfWidth(left.Figure(0, "1"))
}

// layers returns the components of a curve, each name once, as standard uncertainties by frequency,
// the largest first.
func layers(c response.Curve) []curveComponentJSON {
	var out []curveComponentJSON
	squares := map[string][]float64{}
	for _, one := range c.Components {
		if squares[one.Name] == nil {
			squares[one.Name] = make([]float64, len(c.Frequency))
			out = append(out, curveComponentJSON{Name: one.Name, CommonTo: one.CommonTo.String()})
		}
		for _, effect := range one.Effects {
			for i, v := range effect {
				squares[one.Name][i] += v * v
			}
		}
	}
	total := func(name string) (sum float64) {
		for i, v := range squares[name] {
			if !math.IsNaN(c.Level[i]) && !math.IsNaN(v) {
				sum += v
			}
		}
		return sum
	}
	slices.SortStableFunc(out, func(a, b curveComponentJSON) int { return cmp.Compare(total(b.Name), total(a.Name)) })
	for k := range out {
		for i, v := range squares[out[k].Name] {
			if math.IsNaN(c.Level[i]) {
				v = math.NaN()
			}
			out[k].Uncertainty = append(out[k].Uncertainty, number(math.Sqrt(v)))
		}
	}
	return slices.DeleteFunc(out, func(l curveComponentJSON) bool { return total(l.Name) == 0 })
}

// variance returns the sum of the layers' variances at the i-th frequency.
func variance(layers []curveComponentJSON, i int) (sum float64) {
	for _, l := range layers {
		sum += float64(l.Uncertainty[i] * l.Uncertainty[i])
	}
	return sum
}

// seen separates the layers with more than a hundredth of the variance at some frequency from the
// names of the others.
func seen(all []curveComponentJSON) (thick []curveComponentJSON, thin []string) {
	for k := range all {
		visible := false
		for i := range all[k].Uncertainty {
			visible = visible || variance(all[k:k+1], i) > variance(all, i)/100
		}
		if visible {
			thick = append(thick, all[k])
		} else {
			thin = append(thin, all[k].Name)
		}
	}
	return thick, thin
}
