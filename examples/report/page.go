package report

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/examples/session"
	"example.com/earnest/response"
	"example.com/earnest/response/level"
	"example.com/earnest/target"
)

//go:embed page.html
var pageText string

//go:embed page.css
var pageStyle string

var page = template.Must(template.New("page").Funcs(template.FuncMap{
	"hz":       func(n Number) string { return response.FormatFrequency(float64(n)) },
	"interval": interval,
	"known":    known,
	"hours":    hours,
	"share":    func(f Figure) string { return fmt.Sprintf("%.0f %%", 100*float64(f.Value)) },
	"signed":   func(f Figure) string { return known(f.Value, "%+.1f") },
}).Parse(pageText))

// writePage writes the page. It holds its style, its pictures and its few
// lines of script; it asks for nothing.
func writePage(w io.Writer, r Results, m *session.Measurement, j *session.Judgement) error {
	pictures, err := figures(r, m, j)
	if err != nil {
		return err
	}
	return page.Execute(w, map[string]any{
		"R": r, "Figures": pictures, "Sides": sideNames(m),
		"Style": template.CSS(pageStyle), "PlotStyle": plot.CSS(), "Script": plot.Script(),
		"Programmes": programmeFigures(m, pictures),
		"Decay":      decayWords(r),
		"Caution":    level.Caution,
		"Seatings":   m.Session.Seatings, "Tolerance": toleranceWords(j.Mean.Tolerance),
	})
}

// programmeFigures are, for each piece of material, its sentence and its two
// pictures.
func programmeFigures(m *session.Measurement, pictures map[string]template.HTML) []template.HTML {
	out := make([]template.HTML, len(m.Programmes))
	for i, material := range m.Programmes {
		if material.Comparison != nil {
			id := fmt.Sprintf("programme-%d", i+1)
			out[i] = template.HTML("<p>"+template.HTMLEscapeString(programmeSentence(material))+"</p>") + pictures[id] + pictures[id+"-linear"]
		}
	}
	return out
}

func sideNames(m *session.Measurement) []string {
	var names []string
	for _, s := range m.Sides() {
		names = append(names, s.Name)
	}
	return names
}

// interval is a figure with half of the interval that holds the true value with
// 95 % confidence, to two significant digits, which decide how many the value has
// (JCGM 100:2008, 7.2.6).
func interval(f Figure) string {
	v, u := float64(f.Value), float64(f.Uncertainty)
	unit := " " + f.Unit
	switch {
	case math.IsNaN(v):
		return "not known"
	case math.IsNaN(u):
		return fmt.Sprintf("%.2f%s (uncertainty not known)", v, unit)
	case u == 0:
		return fmt.Sprintf("%.4g%s", v, unit)
	}
	half := coverage(float64(f.Freedom)) * u
	decimals := max(0, 1-int(math.Floor(math.Log10(half))))
	return fmt.Sprintf("%.*f ± %.*f%s", decimals, v, decimals, half, unit)
}

// coverage is the factor from a standard uncertainty to half the interval of
// 95 %: Student's t, or 1.96 where the degrees of freedom are many.
func coverage(freedom float64) float64 {
	if freedom == 0 || math.IsInf(freedom, 1) {
		return distuv.UnitNormal.Quantile(0.975)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: freedom}.Quantile(0.975)
}

// hours is a length of time as a person says it.
func hours(h Number) string {
	switch v := float64(h); {
	case math.IsNaN(v):
		return "not known"
	case v >= 10:
		return fmt.Sprintf("%.0f h", v)
	case v >= 1:
		return fmt.Sprintf("%.1f h", v)
	default:
		return fmt.Sprintf("%.0f min", 60*v)
	}
}

func known(v Number, format string) string {
	if math.IsNaN(float64(v)) {
		return "not known"
	}
	return fmt.Sprintf(format, float64(v))
}

// toleranceWords says a tolerance that is the same at 1 kHz and everywhere as
// "±3 dB", and any other as varying.
func toleranceWords(t target.Tolerance) string {
	above, below := t.Above.At(1000), t.Below.At(1000)
	for _, f := range []float64{20, 100, 10000, 20000} {
		if t.Above.At(f) != above || t.Below.At(f) != below {
			return "varies with frequency"
		}
	}
	if above == below {
		return fmt.Sprintf("±%.3g dB", above)
	}
	return fmt.Sprintf("+%.3g/−%.3g dB", above, below)
}
