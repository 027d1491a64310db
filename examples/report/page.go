package report

import (
	"bytes"
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
	"example.com/earnest/target"
	"example.com/earnest/target/review"
)

//go:embed page.html
var pageText string

//go:embed page.css
var pageStyle string

var page = template.Must(template.New("page").Funcs(template.FuncMap{
	"hz":        func(f float64) string { return typeset(response.FormatFrequency(f)) },
	"frequency": response.FormatFrequency,
	"interval":  Interval,
	"atmost":    atMost,
	"hours":     allowed,
	"where":     where,
	"octave":    octaveName,
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
	"remarks":   programmeRemarks,
	"words":     programmeWords,
	"markdown":  markdown,
	"title":     programmeTitle,
	"count":     func(i int) int { return i + 1 },
	"polarity": func(r *review.Results) string {
		if polarity(r) == "not known" {
			return "Whether both sides have the same polarity is not known."
		}
		return "The two sides have " + map[string]string{"same": "the same", "opposite": "opposite"}[polarity(r)] +
			" polarity."
	},
	"excerptFile": excerptFile,
	"excerptIs":   excerptIs,
	"excerptSeconds": func(e *review.Excerpts) string {
		return fmt.Sprintf("%.0f", float64(len(e.Versions[0].Samples))/float64(e.SampleRate))
	},
	"tolerance": toleranceWords,
	"decay":     decayWords,
	"missing":   missing,
}).Parse(pageText))

// view is what the page shows: the results, and how they are laid out. Its methods write the parts
// that lead to definitions, and so are called in the order of the page.
type view struct {
	R        *review.Results
	Summary  []string
	Contents []section
	Columns  []column
	Caution  string
	Style    template.CSS
	Script   template.JS

	plots map[string]plot.Plot
	said  map[string]bool // notes that stand on the page already, and links of a section
	glossary
	embed    bool // excerpts within the page
	embedded int  // bytes of them
}

// section is a part of the page under a heading.
type section struct{ ID, Title string }

// column is a side, or the mean of both, in a table, with its deviation.
type column struct {
	Title string
	target.Deviation
}

// writePage writes the page. It holds its style, its pictures and its few lines of script; it asks
// for nothing.
func writePage(w io.Writer, r *review.Results, embed bool) error {
	v := &view{
		embed: embed,
		R:     r, Summary: summary(r), Columns: columns(r), Caution: level.Caution,
		Style: plot.CSS() + template.CSS(pageStyle), Script: plot.Script(),
		plots:    plots(r),
		said:     map[string]bool{},
		glossary: glossary{section: "The answer", uses: map[string][]glossaryUse{}},
	}
	v.Contents = v.contents()
	var out bytes.Buffer
	if err := page.Execute(&out, v); err != nil {
		return err
	}
	_, err := w.Write(bytes.Map(printable, out.Bytes()))
	return err
}

// printable drops characters that a reader does not see and that change what is seen: control
// characters, and those that turn the direction of a text (Unicode Standard Annex 9).
func printable(r rune) rune {
	if unicode.IsControl(r) && r != '\n' && r != '\t' || unicode.Is(unicode.Bidi_Control, r) {
		return -1
	}
	return r
}

// Lasts is the length in seconds of what was played on a side.
func (v *view) Lasts() float64 {
	s := v.R.Config.Stimulus.Signal()
	return float64(len(s.Samples())) / float64(s.SampleRate())
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
		{section{"frequency", "Response"}, true},
		{section{"sides", "Left and right"}, has("match")},
		{section{"rivals", "Beside other pairs"}, v.R.Judgement.Ranking != nil},
		{section{"claims", "The maker’s figures"}, len(v.R.Judgement.Claims) > 0},
		{section{"uses", "What it is good for"}, len(v.R.Judgement.Uses) > 0},
		{section{"opinion", "In the reviewer’s words"}, strings.TrimSpace(v.R.About.Notes) != ""},
		{section{"deviation", "Deviation from the target"}, true},
		{section{"uncertainty", "What makes it unsure"}, has("unsure")},
		{section{"harmonics", "Distortion"}, has("distortion-left", "distortion-right")},
		{section{"further", "Tones, levels and crosstalk"}, len(v.Further()) > 0},
		{section{"time", "Impulse, step and decay"}, has("impulse")},
		{section{"programme", "Music and speech"}, len(v.R.Programmes) > 0},
		{section{"equaliser", "What an equaliser could do"}, v.R.Judgement.Correction != nil},
		{section{"electrical", "Impedance"}, has("impedance", "output")},
		{section{"noise", "Noise from outside, and to others"}, has("isolation", "spill")},
		{section{"loud", "How loud, and how long"}, v.R.Sound != nil},
		{section{"recordings", "The recordings"}, true},
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

// Doubts are the findings that may change an answer; the others stand under "The recordings".
func (v *view) Doubts() []response.Finding {
	return slices.DeleteFunc(slices.Clone(v.R.Findings),
		func(f response.Finding) bool { return f.Severity < response.Warning })
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
// none. A note is printed once on the page, and the same links once in a section.
func (v *view) Figure(id string, summarised bool, terms ...string) (template.HTML, error) {
	p, there := v.plots[id]
	if !there {
		return "", nil
	}
	var summary template.HTML
	if summarised {
		summary = "<p>" + v.sentence(p.Summary) + "</p>"
	}
	p.Notes = slices.DeleteFunc(slices.Clone(p.Notes), v.again)
	for i, n := range p.Notes {
		p.Notes[i] = typeset(n)
	}
	p.Summary = typeset(p.Summary)
	if !v.again(v.section + ": " + strings.Join(terms, " ")) {
		p.Explained = v.explained(terms)
	}
	figure, err := plot.Figure(p)
	return summary + figure, err
}

// again tells whether something was said before, and remembers it.
func (v *view) again(text string) bool {
	before := v.said[text]
	v.said[text] = true
	return before
}

// Switched draws a plot of distortion in dB and in %, of which the reader chooses one, on paper too.
func (v *view) Switched(id string, terms ...string) (template.HTML, error) {
	decibels, err := v.Figure(id, true, terms...)
	if err != nil || !v.Has(id+"-percent") {
		return decibels, err
	}
	percent, err := v.Figure(id+"-percent", false, terms...)
	return template.HTML(fmt.Sprintf(`<div class="switched"><input type="checkbox" id="%s-in"><label for="%s-in">in %%</label><div>`, id, id)) +
		decibels + `</div><div>` + percent + `</div></div>`, err
}

// Term is a label that leads to its definition.
func (v *view) Term(id, label string) template.HTML { return v.link(id, label) }

// Words are a sentence whose figures lead to their definitions.
func (v *view) Words(text string) template.HTML { return v.glossary.sentence(text) }

// Definitions are those that the page has used.
func (v *view) Definitions() []glossaryEntry { return v.entries() }

// Both tells whether left and right were measured.
func (v *view) Both() bool { return len(v.Columns) == 3 }

// SoundRemarks are those of the sound, without the caution where it stands there already, beside
// how loud it can go.
func (v *view) SoundRemarks() []string {
	return remarks(slices.DeleteFunc(slices.Clone(v.R.Sound.Findings), func(f response.Finding) bool {
		return f.Kind == level.Loud
	}))
}

// columns are the sides and the mean of both, or the only side.
func columns(r *review.Results) []column {
	var out []column
	for _, s := range r.Sides() {
		out = append(out, column{s.Name, r.Judgement.Sides[s.Name]})
	}
	if len(out) == 2 {
		out = append(out, column{"mean of both", r.Judgement.Mean})
	}
	return out
}

// missing says what the session has no recordings or words for.
func missing(r *review.Results) string {
	var out []string
	for _, part := range []struct {
		missing bool
		words   string
	}{
		{r.Left == nil, "the left side"},
		{r.Right == nil, "the right side"},
		{len(r.Programmes) == 0, "music and speech"},
		{len(r.Judgement.Claims) == 0, "figures of the maker’s"},
		{r.Judgement.Ranking == nil, "other pairs"},
		{r.Sound == nil, "a calibrator’s tone, so levels in sound pressure, sensitivity and safe times are not known"},
		{r.Impedance == nil, "impedance"},
		{r.Isolation == nil, "isolation from outside noise"},
		{r.SoundLeakage == nil, "what others hear"},
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
