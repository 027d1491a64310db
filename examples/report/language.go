package report

import (
	"cmp"
	"embed"
	"fmt"
	"html/template"
	"io"
	"regexp"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/claim"
	"example.com/earnest/target/correction"
	"example.com/earnest/target/review"
)

// The texts of the page are in one file for each language, and the translations of the library's
// sentences about a recording, a claim or a use in another. The files beside the page are English
// in every language.
//
//go:embed words/*.toml
var wordFiles embed.FS

// language is the texts of the page in one language, by keys as "section.name".
type language struct {
	Code        string                       // as in the lang attribute of HTML
	Decimal     string                       // sign
	Texts       map[string]map[string]string `toml:"text"`
	Definitions []definition                 `toml:"definition"`

	Plot plot.Words // the plots' own words

	mentions *regexp.Regexp

	phrases phrases            // of the library
	known   map[string][]piece // texts of the library; nil: of no phrase
}

// text returns the text of a key. A test looks for missing keys.
func (l language) text(key string) string {
	section, name, _ := strings.Cut(key, ".")
	text, there := l.Texts[section][name]
	if !there {
		panic("report: no text " + key + " in " + l.Code)
	}
	return text
}

// Text formats the text of a key with arguments, as package fmt does, with the decimal sign and the
// minus sign of the language.
func (l language) Text(key string, args ...any) string {
	return fmt.Sprintf(l.text(key), l.localised(args)...)
}

// Number formats numbers in a format that is the same in all languages.
func (l language) Number(format string, args ...any) string {
	return fmt.Sprintf(format, l.localised(args)...)
}

// fixed formats a number with a fixed count of decimals.
func (l language) fixed(v float64, decimals int) string {
	return l.figures(fmt.Sprintf("%.*f", decimals, v))
}

func (l language) localised(args []any) []any {
	out := make([]any, len(args))
	for i, a := range args {
		if v, is := a.(float64); is {
			a = printed{v, l}
		}
		out[i] = a
	}
	return out
}

// figures gives numbers printed by package fmt the signs of the language.
func (l language) figures(text string) string {
	return strings.Replace(minus(text), ".", l.Decimal, 1)
}

// Hz formats a frequency with its unit.
func (l language) Hz(f float64) string { return typeset(l.plainHz(f)) }

func (l language) plainHz(f float64) string {
	return strings.Replace(response.FormatFrequency(f), ".", l.Decimal, 1)
}

// Band formats a band of frequencies.
func (l language) Band(b response.Band) string {
	return strings.ReplaceAll(b.String(), ".", l.Decimal)
}

// named returns the language's word for a name from the library, or the name itself if there is
// none.
func (l language) named(section, name string) string { return cmp.Or(l.Texts[section][name], name) }

// Use returns the name of a use, and Kind that of a kind of material.
func (l language) Use(name string) string { return l.named("use", name) }

func (l language) Kind(name string) string { return l.named("kind", name) }

// Name returns the words for a limit, a band, a version of an excerpt, or another name of the
// library.
func (l language) Name(name string) string {
	if number, is := strings.CutPrefix(name, "seating "); is && !strings.Contains(number, " ") {
		return l.Text("seatings.numbered", number)
	}
	if rival, is := strings.CutPrefix(name, review.FilteredByRival); is {
		return l.named("name", strings.TrimSpace(review.FilteredByRival)) + " " + rival
	}
	return l.named("name", name)
}

// Component returns the name of a component of uncertainty.
func (l language) Component(name string) string { return l.named("component", name) }

func (l language) components(names []string) (out []string) {
	for _, name := range names {
		out = append(out, l.Component(name))
	}
	return out
}

// Side returns the name of a side of review.Side.
func (l language) Side(name string) string { return l.text("side." + name) }

// Severity, Outcome, Answer and Shape return the words for values of the library.
func (l language) Severity(s response.Severity) string { return l.text("severity." + s.String()) }

func (l language) Outcome(o claim.Outcome) string { return l.text("outcome." + string(o)) }

func (l language) Answer(a target.Answer) string { return l.text("answer." + a.String()) }

func (l language) Shape(s correction.Shape) string { return l.text("shape." + string(s)) }

// Frequency returns a logarithmic frequency axis in Hz.
func (l language) Frequency(low, high float64) plot.Axis {
	axis := plot.Frequency(low, high)
	axis.Label = l.Text("axis.frequency")
	return axis
}

// printed is a number that prints with the signs of its language.
type printed struct {
	value float64
	language
}

func (p printed) Format(f fmt.State, verb rune) {
	fmt.Fprint(f, p.figures(fmt.Sprintf(fmt.FormatString(f, verb), p.value)))
}

var marked = regexp.MustCompile(`\[([^\]]+)\]\(([a-z0-9-]+)\)`)

// Say returns the text of a key as HTML, in which [words](id) link to the definition of that id.
func (v *view) Say(key string, args ...any) template.HTML {
	text := v.text(key)
	var out strings.Builder
	end := 0
	for _, at := range marked.FindAllStringSubmatchIndex(text, -1) {
		out.WriteString(template.HTMLEscapeString(text[end:at[0]]))
		out.WriteString(string(v.Term(text[at[4]:at[5]], text[at[2]:at[3]])))
		end = at[1]
	}
	out.WriteString(template.HTMLEscapeString(text[end:]))
	safe := v.localised(args)
	for i, a := range safe {
		if s, is := a.(string); is {
			safe[i] = template.HTMLEscapeString(s)
		}
	}
	return template.HTML(fmt.Sprintf(out.String(), safe...))
}

// Languages returns the codes of the page's languages, such as "en".
func Languages() []string {
	files, err := wordFiles.ReadDir("words")
	if err != nil {
		panic(err) // cannot happen: the files are embedded
	}
	var out []string
	for _, f := range files {
		out = append(out, strings.TrimSuffix(f.Name(), ".toml"))
	}
	return out
}

// WriteTranslation writes the page in another of the Languages beside the report, as
// report-de.html. If that file exists, it returns ErrExists, unless replace is set.
func WriteTranslation(folder string, r *review.Results, code string, replace bool) error {
	if r.Judgement == nil {
		return ErrNotJudged
	}
	l, err := readLanguage(code)
	if err != nil {
		return err
	}
	return writeBeside(folder, "report-"+code+".html", replace, func(w io.Writer) error { return writePage(w, r, l, false) })
}

var english = func() language {
	l, err := decode("en")
	if err != nil {
		panic(err) // cannot happen: the file is embedded
	}
	l.mentions = mentions(l.Definitions)
	return l
}()

func decode(code string) (language, error) {
	l := language{Code: code}
	data, err := wordFiles.ReadFile("words/" + code + ".toml")
	if err != nil {
		return l, fmt.Errorf("report: language %q is not known; choose one of "+
			"%s", code, strings.Join(Languages(), ", "))
	}
	if err := toml.Unmarshal(data, &l); err != nil {
		return l, fmt.Errorf("report: %s.toml: %w", code, err)
	}
	return l, nil
}

// readLanguage reads a language. Missing texts are taken from English.
func readLanguage(code string) (language, error) {
	l, err := decode(code)
	if err != nil {
		return l, err
	}
	for section, texts := range english.Texts {
		if l.Texts[section] == nil {
			l.Texts[section] = map[string]string{}
		}
		for key, text := range texts {
			l.Texts[section][key] = cmp.Or(l.Texts[section][key], text)
		}
	}
	var all []definition
	for _, d := range english.Definitions {
		for _, own := range l.Definitions {
			if own.ID != d.ID {
				continue
			}
			own.Meaning, own.Reference = cmp.Or(own.Meaning, d.Meaning), cmp.Or(own.Reference, d.Reference)
			own.Unit, own.Formula, own.Source = cmp.Or(own.Unit, d.Unit), cmp.Or(own.Formula, d.Formula),
				cmp.Or(own.Source, d.Source)
			d = own
		}
		all = append(all, d)
	}
	l.Definitions, l.mentions = all, mentions(all)
	l.known = map[string][]piece{}
	l.phrases, err = readPhrases(code)
	return l, err
}
