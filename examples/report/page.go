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

//go:embed rivals.html
var rivalsText string

//go:embed page.css
var pageStyle string

//go:embed page.js
var pageScript string

var page = template.Must(template.New("page").Funcs(template.FuncMap{
	"sentence":    func(text string) string { return typeset(Sentence(text)) },
	"stop":        Sentence,
	"oneLine":     oneLine,
	"typeset":     typeset,
	"capital":     capital,
	"formula":     formula,
	"id":          programmeID,
	"count":       func(i int) int { return i + 1 },
	"excerptFile": excerptFile,
	"excerptSeconds": func(e *review.Excerpts) float64 {
		return float64(len(e.Versions[0].Samples)) / float64(e.SampleRate)
	},
}).Parse(pageText + rivalsText + opinionText + changesText))

// view holds the results and the layout of the page. Its methods write links to definitions, so
// they must be called in the order of the page.
type view struct {
	R        *review.Results
	Summary  []string
	Contents []section
	Columns  []column
	Caution  string
	Style    template.CSS
	Script   template.JS

	plots map[string]plot.Plot
	said  map[string]bool // notes already on the page, and links already in a section
	glossary
	embed    bool // put excerpts inside the page
	embedded int  // bytes of them
}

// contents returns the sections that have content in this session.
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
		id    string
		there bool
	}{
		{"frequency", true},
		{"sides", has("match")},
		{"changes", len(v.R.Changes) > 0 || v.R.Specimens != nil},
		{"rivals", v.R.Judgement.Ranking != nil},
		{"claims", len(v.R.Judgement.Claims) > 0},
		{"uses", len(v.R.Judgement.Uses) > 0},
		{"opinion", newOpinion(v.R.About) != nil || strings.TrimSpace(v.R.About.Opinion[""]) != ""},
		{"deviation", true},
		{"uncertainty", has("unsure")},
		{"harmonics", has("distortion-left", "distortion-right")},
		{"further", len(v.Further()) > 0},
		{"time", has("impulse")},
		{"programme", len(v.R.Programmes) > 0},
		{"equaliser", v.R.Judgement.Correction != nil},
		{"electrical", has("impedance", "output")},
		{"noise", has("isolation", "spill")},
		{"loud", v.R.Sound != nil},
		{"recordings", true},
		{"method", true},
		{"safety", true},
		{"definitions", true},
	} {
		if s.there {
			out = append(out, section{s.id, v.text("title." + s.id)})
		}
	}
	return out
}

// Doubts returns the findings that may change an answer. The others are listed under "The
// recordings".
func (v *view) Doubts() []response.Finding {
	return slices.DeleteFunc(slices.Clone(v.R.Findings),
		func(f response.Finding) bool { return f.Severity < response.Warning })
}

// mostDoubts are shown above the response, which many would push off the first screen.
const mostDoubts = 5

// Foremost are the gravest doubts, in order, and Beyond is how many more there are.
func (v *view) Foremost(doubts []response.Finding) []response.Finding {
	slices.SortStableFunc(doubts, func(a, b response.Finding) int { return int(b.Severity) - int(a.Severity) })
	return doubts[:min(mostDoubts, len(doubts))]
}

func (v *view) Beyond(doubts []response.Finding) int { return max(0, len(doubts)-mostDoubts) }

// Section begins a section; nil if the page has none with that id.
func (v *view) Section(id string) *section {
	for _, s := range v.Contents {
		if s.ID == id {
			v.in(s.Title)
			return &s
		}
	}
	return nil
}

// Has reports whether there is a plot.
func (v *view) Has(id string) bool { _, there := v.plots[id]; return there }

// Figure draws a plot with links to the definitions of its terms; empty if there is no such plot. A
// note is printed once on the page, and the same links once in a section.
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

// again reports whether a text was printed before, and remembers it.
func (v *view) again(text string) bool {
	before := v.said[text]
	v.said[text] = true
	return before
}

// Switched draws a plot of distortion in dB and in %. The reader chooses one, also for printing.
func (v *view) Switched(id string, terms ...string) (template.HTML, error) {
	decibels, err := v.Figure(id, true, terms...)
	if err != nil || !v.Has(id+"-percent") {
		return decibels, err
	}
	percent, err := v.Figure(id+"-percent", false, terms...)
	return template.HTML(fmt.Sprintf(`<div class="switched"><input type="checkbox" id="%s-in"><label for="%s-in">%s</label><div>`, id, id, v.Text("page.in-percent"))) +
		decibels + `</div><div>` + percent + `</div></div>`, err
}

var caption = regexp.MustCompile(`<figcaption>(.*?)</figcaption>`)

// Later returns a picture that is folded on a telephone, under its own title.
func (v *view) Later(picture template.HTML) template.HTML {
	if picture == "" {
		return ""
	}
	title := caption.FindStringSubmatch(string(picture))[1]
	return template.HTML(`<details class="later" open><summary>`+title+`</summary>`) + picture + `</details>`
}

// Term returns a label that links to its definition.
func (v *view) Term(id, label string) template.HTML { return v.link(id, label) }

// Words returns a sentence whose figures link to their definitions.
func (v *view) Words(text string) template.HTML { return v.glossary.sentence(text) }

// Definitions returns those that the page has used.
func (v *view) Definitions() []glossaryEntry { return v.entries() }

// Both reports whether left and right were measured.
func (v *view) Both() bool { return len(v.Columns) == 3 }

// SoundRemarks returns the remarks on the sound, without the caution if it is already beside the
// highest level.
func (v *view) SoundRemarks() (out []template.HTML) {
	for _, f := range v.R.Sound.Findings {
		if f.Kind != level.Loud {
			out = append(out, v.remark(f))
		}
	}
	return out
}

// Missing lists what the session has no recordings or texts for.
func (v *view) Missing() string {
	r := v.R
	var out []string
	for _, part := range []struct {
		missing bool
		key     string
	}{
		{r.Left == nil, "left"},
		{r.Right == nil, "right"},
		{len(r.Programmes) == 0, "programme"},
		{len(r.Judgement.Claims) == 0, "claims"},
		{r.Judgement.Ranking == nil, "rivals"},
		{r.Sound == nil, "sound"},
		{r.Impedance == nil, "impedance"},
		{r.Isolation == nil, "isolation"},
		{r.SoundLeakage == nil, "spill"},
	} {
		if part.missing {
			out = append(out, v.text("missing."+part.key))
		}
	}
	return strings.Join(out, "; ")
}

// Polarity states whether both sides have the same polarity.
func (v *view) Polarity() string {
	switch polarity(v.R) {
	case "same":
		return v.Text("sides.polarity-same")
	case "opposite":
		return v.Text("sides.polarity-opposite")
	}
	return v.Text("sides.polarity-not-known")
}

// Decay states where the pair rings longest, and Where the place for which a level in dB(A) holds.
func (v *view) Decay() string { return v.decayWords(v.R) }

func (v *view) Where() string { return v.where(v.R) }

// Times states how often the headphones were put on.
func (v *view) Times() string {
	if v.R.Seatings == 1 {
		return v.Text("method.once")
	}
	return v.Text("method.times", v.R.Seatings)
}

// Method describes the stimulus and the processing.
func (v *view) Method() template.HTML {
	played := v.R.Config.Stimulus
	s, what := played.Signal(), "method.other"
	if law := s.Law(); law != nil && law.Asynchrony() != 0 {
		what = "method.exponential"
	} else if law != nil {
		what = "method.synchronised"
	}
	return v.Say("method.recorded", v.Say(what), v.plainHz(s.Start()), v.plainHz(s.Stop()),
		float64(len(s.Samples()))/float64(s.SampleRate()), played.Level(), s.SampleRate(), v.Times())
}

// Beside lists the files with the figures of the page.
func (v *view) Beside() string {
	files := []string{"results.json", "response.csv", "distortion.csv", "response.txt"}
	if len(v.R.Programmes) > 0 {
		files = append(files, spectraFile)
	}
	if len(v.Further()) > 0 {
		files = append(files, furtherFile)
	}
	return v.listed(files)
}

// section is a part of the page under a heading.
type section struct{ ID, Title string }

// column is a side or the mean of both in a table, with its deviation.
type column struct {
	Title string
	target.Deviation
}

// columns returns the sides and the mean of both, or the only side.
func (l language) columns(r *review.Results) []column {
	var out []column
	for _, s := range r.Sides() {
		out = append(out, column{l.Side(s.Name), r.Judgement.Sides[s.Name]})
	}
	if len(out) == 2 {
		out = append(out, column{l.Text("page.mean-of-both"), r.Judgement.Mean})
	}
	return out
}

// Sentence returns a text with a capital at its beginning and a full stop at its end.
func Sentence(text string) string {
	return fullStop(capital(text))
}

// oneLine writes an error of several lines in one: the first says what the others explain.
func oneLine(text string) string {
	return strings.ReplaceAll(strings.Replace(text, "\n", ": ", 1), "\n", "; ")
}

func fullStop(text string) string {
	if text != "" && !strings.ContainsAny(text[len(text)-1:], ".!?") {
		text += "."
	}
	return text
}

// writePage writes the page. It contains its style, pictures and script, and loads nothing.
func writePage(w io.Writer, r *review.Results, l language, embed bool) error {
	v := &view{
		embed: embed,
		R:     r, Summary: l.summary(r), Columns: l.columns(r), Caution: l.Name(level.Caution),
		Style: plot.CSS() + template.CSS(pageStyle), Script: plot.Script(l.Plot) + template.JS(pageScript),
		plots:    l.plots(r),
		said:     map[string]bool{},
		glossary: glossary{language: l, section: l.Text("title.answer"), uses: map[string][]glossaryUse{}},
	}
	for id, p := range v.plots {
		p.Words = l.Plot
		v.plots[id] = p
	}
	v.Contents = v.contents()
	var out bytes.Buffer
	if err := page.Execute(&out, v); err != nil {
		return err
	}
	for line := range bytes.Lines(bytes.Map(printable, out.Bytes())) {
		if bytes.Contains(line, []byte("–")) { // few lines do, and the search is slow
			line = span.ReplaceAllFunc(line, unbroken)
		}
		if _, err := w.Write(line); err != nil {
			return err
		}
	}
	return nil
}

// span matches a range of numbers, such as "20 Hz–20 kHz".
var span = regexp.MustCompile(`\d(?:[ \x{a0}]\pL+)?–−?\d[\d.,]*(?:[ \x{a0}](?:k?Hz|m?s|dB|%))?`)

// unbroken keeps a range in one line, which may otherwise break at its dash.
func unbroken(span []byte) []byte {
	span = bytes.ReplaceAll(span, []byte(" "), []byte("\u00a0"))
	return bytes.ReplaceAll(span, []byte("–"), []byte("\u2060–\u2060"))
}

// printable drops invisible characters that change the visible text: control characters, and those
// that change the direction of a text (Unicode Standard Annex 9).
func printable(r rune) rune {
	if unicode.IsControl(r) && r != '\n' && r != '\t' || unicode.Is(unicode.Bidi_Control, r) {
		return -1
	}
	return r
}

// capital makes the first letter a capital, unless the first word is the name of a file or contains
// capitals, such as dBFS.
func capital(text string) string {
	word, _, _ := strings.Cut(text, " ")
	if word == "" || strings.Contains(word, ".") || word != strings.ToLower(word) {
		return text
	}
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[size:]
}

var lowered, raised = regexp.MustCompile(`_(\w+)`), regexp.MustCompile(`\^\(([^()]*)\)`)

// formula makes subscripts of text after _ and superscripts of text in ^( ).
func formula(text string) template.HTML {
	text = template.HTMLEscapeString(text)
	text = lowered.ReplaceAllString(text, "<sub>$1</sub>")
	return template.HTML(raised.ReplaceAllString(text, "<sup>$1</sup>"))
}

// programmeID returns the id of the plot of a piece of material.
func programmeID(i int) string { return fmt.Sprintf("programme-%d", i+1) }
