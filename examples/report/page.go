package report

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response"
	"example.com/earnest/response/level"
	"example.com/earnest/target/review"
)

//go:embed page.html
var pageText string

//go:embed page.css
var pageStyle string

var page = template.Must(template.New("page").Funcs(template.FuncMap{
	"hz":        func(n Number) string { return typeset(response.FormatFrequency(float64(n))) },
	"frequency": response.FormatFrequency,
	"interval":  interval,
	"atmost":    atMost,
	"known":     known,
	"hours":     hours,
	"share":     share,
	"signed":    signed,
	"value":     value,
	"sentence":  func(text string) string { return typeset(sentence(text)) },
	"stop":      sentence,
	"typeset":   typeset,
	"capital":   capital,
	"formula":   formula,
	"minus":     minus,
	"id":        programmeID,
}).Parse(pageText))

// view is what the page shows. Its methods write the parts that lead to
// definitions, and so are called in the order of the page.
type view struct {
	R                         Results
	Contents                  []section
	Columns                   []column
	Tolerance, Decay, Caution string
	NoTarget                  bool
	Missing                   string
	SoundRemarks              []string
	Style                     template.CSS
	Script                    template.JS

	plots map[string]plot.Plot
	glossary
}

// section is a part of the page under a heading.
type section struct{ ID, Title string }

// column is a side, or the mean of both, in a table.
type column struct{ Key, Title string }

// writePage writes the page. It holds its style, its pictures and its few
// lines of script; it asks for nothing.
func writePage(w io.Writer, r Results, m *review.Results, j *review.Judgement) error {
	v := &view{
		R: r, Columns: columns(m), Tolerance: toleranceWords(j.Mean.Tolerance), Decay: decayWords(r),
		Caution: level.Caution, NoTarget: j.NoTarget,
		Missing: missing(m),
		Style:   plot.CSS() + template.CSS(pageStyle), Script: plot.Script(),
		plots:    plots(r, m, j),
		glossary: glossary{section: "The answer", uses: map[string][]glossaryUse{}},
	}
	if r.Sound != nil {
		for _, remark := range r.Sound.Remarks {
			// How loud it can go, and the caution, stand there already.
			if r.Sound.Highest == nil || !strings.HasSuffix(remark, level.Caution) {
				v.SoundRemarks = append(v.SoundRemarks, remark)
			}
		}
	}
	v.Contents = v.contents()
	return page.Execute(w, v)
}

// contents are the sections that the session has something for.
func (v *view) contents() []section {
	has := func(ids ...string) bool {
		for _, id := range ids {
			if _, there := v.plots[id]; there {
				return true
			}
		}
		return false
	}
	var out []section
	for _, s := range []struct {
		section
		there bool
	}{
		{section{"recordings", "The recordings"}, true},
		{section{"frequency", "Response"}, true},
		{section{"sides", "Left and right"}, has("match")},
		{section{"deviation", "Deviation from the target"}, true},
		{section{"harmonics", "Distortion"}, has("distortion-left", "distortion-right")},
		{section{"time", "Impulse, step and decay"}, true},
		{section{"programme", "Music and speech"}, len(v.R.Programmes) > 0},
		{section{"claims", "The maker’s figures"}, len(v.R.Claims) > 0},
		{section{"rivals", "Beside other pairs"}, len(v.R.Ranking) > 0},
		{section{"uses", "What it is good for"}, len(v.R.Uses) > 0},
		{section{"equaliser", "What an equaliser could do"}, v.R.Correction != nil},
		{section{"electrical", "Impedance"}, has("impedance", "output")},
		{section{"noise", "Noise from outside, and to others"}, has("isolation", "spill")},
		{section{"loud", "How loud, and how long"}, v.R.Sound != nil},
		{section{"method", "How it was measured"}, true},
		{section{"safety", "Safety"}, true},
		{section{"definitions", "What the figures mean"}, true},
	} {
		if s.there {
			out = append(out, s.section)
		}
	}
	return out
}

// Section begins a section; nil where the page has none of that id.
func (v *view) Section(id string) *section {
	for _, s := range v.Contents {
		if s.ID == id {
			v.in(s.Title)
			return &s
		}
	}
	return nil
}

// Has tells whether there is a plot.
func (v *view) Has(id string) bool { _, there := v.plots[id]; return there }

// Figure draws a plot with links to what is drawn in it; nothing where there is
// none.
func (v *view) Figure(id string, summarised bool, terms ...string) (template.HTML, error) {
	p, there := v.plots[id]
	if !there {
		return "", nil
	}
	var summary template.HTML
	if summarised {
		summary = "<p>" + v.sentence(p.Summary) + "</p>"
	}
	p.Notes = slices.Clone(p.Notes)
	for i, n := range p.Notes {
		p.Notes[i] = typeset(n)
	}
	p.Summary, p.Explained = typeset(p.Summary), v.explained(terms)
	figure, err := plot.Figure(p)
	return summary + figure, err
}

// Term is a label that leads to its definition.
func (v *view) Term(id, label string) template.HTML { return v.link(id, label) }

// Words are a sentence whose figures lead to their definitions.
func (v *view) Words(text string) template.HTML { return v.glossary.sentence(text) }

// Definitions are those that the page has used.
func (v *view) Definitions() []glossaryEntry { return v.entries() }

// Both tells whether left and right were measured.
func (v *view) Both() bool { return len(v.Columns) == 3 }

// columns are the sides and the mean of both, or the only side.
func columns(m *review.Results) []column {
	var out []column
	for _, s := range m.Sides() {
		out = append(out, column{s.Name, s.Name})
	}
	if len(out) == 2 {
		out = append(out, column{"mean", "mean of both"})
	}
	return out
}

// missing says what the session has no recordings or words for.
func missing(m *review.Results) string {
	var out []string
	for _, part := range []struct {
		missing bool
		words   string
	}{
		{m.Left == nil, "the left side"},
		{m.Right == nil, "the right side"},
		{len(m.Programmes) == 0, "music and speech"},
		{len(m.Judgement.Claims) == 0, "figures of the maker’s"},
		{m.Judgement.Ranking == nil, "other pairs"},
		{m.Sound == nil, "a calibrator’s tone, so levels in sound pressure, sensitivity and safe times are not known"},
		{m.Impedance == nil, "impedance"},
		{m.Isolation == nil, "isolation from outside noise"},
		{m.SoundLeakage == nil, "what others hear"},
	} {
		if part.missing {
			out = append(out, part.words)
		}
	}
	return strings.Join(out, "; ")
}

// sentence begins with a capital and ends with a full stop.
func sentence(text string) string {
	text = capital(text)
	if text != "" && !strings.ContainsAny(text[len(text)-1:], ".!?") {
		text += "."
	}
	return text
}

// capital begins with a capital letter, unless the first word is the name of a
// file or has capitals of its own, as dBFS.
func capital(text string) string {
	word, _, _ := strings.Cut(text, " ")
	if word == "" || strings.Contains(word, ".") || word != strings.ToLower(word) {
		return text
	}
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[size:]
}

var lowered, raised = regexp.MustCompile(`_(\w+)`), regexp.MustCompile(`\^\(([^()]*)\)`)

// formula sets what follows _ lower and what stands in ^( ) higher.
func formula(text string) template.HTML {
	text = template.HTMLEscapeString(text)
	text = lowered.ReplaceAllString(text, "<sub>$1</sub>")
	return template.HTML(raised.ReplaceAllString(text, "<sup>$1</sup>"))
}

// programmeID is the id of the plot of a piece of material.
func programmeID(i int) string { return fmt.Sprintf("programme-%d", i+1) }
