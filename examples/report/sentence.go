package report

import (
	"cmp"
	"embed"
	"fmt"
	"html/template"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/pelletier/go-toml/v2"

	"example.com/earnest/response"
)

// The library's sentences are English. A file for each other language lists their formats with
// translations. A test holds the list complete.
//
//go:embed sentences/*.toml
var sentenceFiles embed.FS

// longestSentence in bytes is translated; the time of translation grows with its square.
const longestSentence = 4000

// piece is a part of a translated sentence. An untranslated one is still English.
type piece struct {
	text         string
	untranslated bool
}

// phrase is the format of an English sentence, or of a part of one, with its translation.
type phrase struct {
	literals    []string // between the values
	expression  func() *regexp.Regexp
	quoted      []bool // by values: printed by %q
	translation string
	// follows marks what is only said after something else, such as ", as after a lossy coder".
	follows bool
	// A short phrase such as "the %s" could be a part of any text. It applies only if no value reads
	// as a sentence of its own; of the shortest, such as ", ", all values have to be known.
	short, shortest bool
}

// packages are the names with which their errors begin.
var packages = []string{"capture", "level", "programme", "response", "review"}

var (
	formatVerb = regexp.MustCompile(`%[-+# 0]*[\d.*]*(?:\[\d\])?[a-zA-Z%]`)
	placeVerb  = regexp.MustCompile(`%(?:\[(\d)\])?s|%%`)
	letters    = regexp.MustCompile(`\pL`)
	// quantity matches numbers and units, and nothing else.
	quantity = regexp.MustCompile(`^[^\pL]*(?:(?:k?Hz|dBFS|dB/octave|dB|SPL|rms|[kM]?Ω|m?V|mW|m?A|k?g|[mµ]?s|min|h|mm|m|u|Inf|NaN)(?:$|[^\pL]+))*$`)
	point    = regexp.MustCompile(`(\d)\.(\d)`)
	// reads matches what is more than a name.
	reads = regexp.MustCompile(`(?i)\b(?:the|is|are|was|were|not|of|and|at|by|with)\b.* `)
)

// newPhrase returns the phrase of an English format of package fmt.
func newPhrase(format, translation string) *phrase {
	p := &phrase{translation: translation}
	var pattern strings.Builder
	pattern.WriteString(`(?s)^`)
	literal := ""
	end := func() {
		pattern.WriteString(regexp.QuoteMeta(literal))
		p.literals, literal = append(p.literals, literal), ""
	}
	at := 0
	for _, verb := range formatVerb.FindAllStringIndex(format, -1) {
		literal += format[at:verb[0]]
		at = verb[1]
		slot := ""
		switch verb := format[verb[0]:verb[1]]; {
		case verb == "%%":
			literal += "%"
			continue
		case verb == "%.0s":
			continue
		case verb[len(verb)-1] == 'd':
			slot = `(-?\d+)`
		case verb[len(verb)-1] == 'q':
			slot = `("(?:[^"\\]|\\.)*")`
		case verb[len(verb)-1] == 's' || verb[len(verb)-1] == 'v' || verb[len(verb)-1] == 'w':
			slot = `(.*?)`
		default:
			slot = `([-+]?(?:\d[\d.]*(?:e[-+]\d+)?|Inf)|NaN)`
		}
		end()
		pattern.WriteString(slot)
		p.quoted = append(p.quoted, strings.HasPrefix(slot, `("`))
	}
	literal += format[at:]
	end()
	words := strings.Join(p.literals, "")
	said := len(letters.FindAllString(words, -1))
	p.short, p.shortest = said < 8, said < 4
	p.follows = strings.IndexAny(format, " ,;:(") == 0
	if p.follows {
		text := pattern.String()
		pattern.Reset()
		pattern.WriteString(`(?s)^(.*?)` + strings.TrimPrefix(text, `(?s)^`))
		p.quoted = append([]bool{false}, p.quoted...)
	}
	p.expression = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(pattern.String() + `$`) })
	return p
}

// values returns what a text has in place of the verbs of the format, and whether it is of that
// format. Of a phrase that follows, the first value is what stands before it.
func (p *phrase) values(text string) ([]string, bool) {
	for _, literal := range p.literals {
		if !strings.Contains(text, literal) {
			return nil, false
		}
	}
	found := p.expression().FindStringSubmatch(text)
	if found == nil {
		return nil, false
	}
	values := found[1:]
	for i, quoted := range p.quoted {
		if bare, err := strconv.Unquote(values[i]); quoted && err == nil {
			values[i] = bare
		}
	}
	return values, true
}

// weight is the length of what is fixed.
func (p *phrase) weight() int { return len(strings.Join(p.literals, "")) }

// phrases are the sentences of a language, the most specific first.
type phrases []*phrase

// translated returns the pieces of a sentence of the library in the language. What is in no phrase
// remains English.
func (l language) translated(text string) []piece {
	if l.Code == english.Code {
		return []piece{{text: text}}
	}
	if len(text) > longestSentence {
		return []piece{{text, true}}
	}
	out := l.best(text)
	if bare, stop := strings.CutSuffix(text, "."); stop && !isWhole(out) {
		if better := l.find(bare); isWhole(better) {
			return joined(append(slices.Clone(better), piece{text: "."}))
		}
	}
	if out != nil {
		return out
	}
	return []piece{{text, true}}
}

// best is like find, and takes an error apart where that leaves less in English.
func (l language) best(text string) []piece {
	out := l.find(text)
	if !isWhole(out) {
		if better := l.failed(text); out == nil || isWhole(better) {
			return better
		}
	}
	return out
}

// failed translates an error, which begins with the name of a recording or of a piece, or ends with
// what to do; nil for what is none.
func (l language) failed(text string) []piece {
	if at := strings.LastIndex(text, "; "); at >= 0 {
		what, remedy := l.best(text[:at]), l.find(text[at+2:])
		if isWhole(what) && isWhole(remedy) {
			return joined(slices.Concat(what, []piece{{text: "; "}}, remedy))
		}
	}
	name, rest, there := strings.Cut(text, ": ")
	if !there || reads.MatchString(name) {
		return nil
	}
	out := l.best(rest)
	if out == nil || slices.Contains(packages, name) {
		return out
	}
	return joined(slices.Concat([]piece{{text: name + ": "}}, out))
}

// find returns nil for what is no phrase, no quantity and no name of the library.
func (l language) find(text string) []piece {
	if out, there := l.known[text]; there {
		return out
	}
	l.known[text] = nil // a text inside itself is not known
	out := l.search(text)
	l.known[text] = out
	return out
}

func (l language) search(text string) []piece {
	if text == "" {
		return []piece{}
	}
	if quantity.MatchString(text) {
		text = point.ReplaceAllString(minus(text), "${1}"+l.Decimal+"${2}")
		return []piece{{text: strings.ReplaceAll(text, "dB/octave", l.Name("dB/octave"))}}
	}
	if name := l.nameOf(text); name != "" {
		return []piece{{text: name}}
	}
	for _, p := range l.phrases {
		values, is := p.values(text)
		if !is {
			continue
		}
		var before []piece
		if p.follows {
			if before = l.find(values[0]); before == nil {
				continue
			}
			values = values[1:]
		}
		if out := l.filled(p, values); out != nil {
			return joined(slices.Concat(before, out))
		}
	}
	return nil
}

// nameOf translates a name of the library; empty if it is none.
func (l language) nameOf(text string) string {
	for _, section := range []string{"component", "name", "kind", "use", "question"} {
		if name, there := l.Texts[section][text]; there {
			return name
		}
	}
	return ""
}

// filled puts translated values into the translation of a phrase; nil if it is too short for values
// that are not known.
func (l language) filled(p *phrase, values []string) []piece {
	parts := make([][]piece, len(values))
	for i, v := range values {
		parts[i] = l.find(v)
		if parts[i] == nil && (p.shortest || p.short && reads.MatchString(v)) {
			return nil
		}
		if !p.short {
			parts[i] = l.best(v)
		}
		if parts[i] == nil {
			parts[i] = []piece{{v, reads.MatchString(v)}}
		}
	}
	out := []piece{}
	at, next := 0, 0
	for _, m := range placeVerb.FindAllStringSubmatchIndex(p.translation, -1) {
		out = append(out, piece{text: p.translation[at:m[0]]})
		at = m[1]
		if m[1]-m[0] == 2 && p.translation[m[0]+1] == '%' {
			out = append(out, piece{text: "%"})
			continue
		}
		if m[2] >= 0 {
			next = int(p.translation[m[2]] - '1')
		}
		out = append(out, parts[next]...)
		next++
	}
	return joined(append(out, piece{text: p.translation[at:]}))
}

// Library returns a part of a sentence of the library whose figures link to their definitions.
func (v *view) Library(text string) template.HTML {
	return html(v.translated(text), v.glossary.sentence)
}

// Sentence is like Library, with a capital and a full stop.
func (v *view) Sentence(text string) template.HTML {
	return html(stopped(v.translated(text)), v.glossary.sentence)
}

// Plain returns a name or part of a sentence of the library as text.
func (v *view) Plain(text string) string { return plainly(v.translated(text)) }

// Warning is like Sentence without links.
func (v *view) Warning(text string) template.HTML {
	return html(stopped(v.translated(text)), escaped)
}

// remark is like Warning for a finding of which the recording and the remedy are part.
func (v *view) remark(f response.Finding) template.HTML {
	return html(stopped(v.remarked(f)), escaped)
}

// remarked is a finding in one line, like response.Finding.String.
func (l language) remarked(f response.Finding) []piece {
	out := l.translated(f.What)
	if f.Recording != "" {
		out = slices.Concat([]piece{{text: f.Recording + ": "}}, out)
	}
	if f.Remedy != "" {
		out = slices.Concat(out, []piece{{text: "; "}}, l.translated(f.Remedy))
	}
	return joined(out)
}

// remarks returns findings as texts, one line each.
func (l language) remarks(findings []response.Finding) (out []string) {
	for _, f := range findings {
		out = append(out, plainly(l.remarked(f)))
	}
	return out
}

// isWhole reports whether a text was found, and all of it translated.
func isWhole(pieces []piece) bool {
	return pieces != nil && !slices.ContainsFunc(pieces, func(p piece) bool { return p.untranslated })
}

// joined joins neighbouring pieces of one language.
func joined(pieces []piece) (out []piece) {
	for _, p := range pieces {
		if last := len(out) - 1; last >= 0 && out[last].untranslated == p.untranslated {
			out[last].text += p.text
		} else if p.text != "" {
			out = append(out, p)
		}
	}
	return out
}

// html writes pieces, with the language of those that are not translated.
func html(pieces []piece, write func(string) template.HTML) template.HTML {
	var out strings.Builder
	for _, p := range pieces {
		if p.untranslated {
			fmt.Fprintf(&out, `<span lang="en">%s</span>`, escaped(p.text))
		} else {
			out.WriteString(string(write(p.text)))
		}
	}
	return template.HTML(out.String())
}

func escaped(text string) template.HTML {
	return template.HTML(template.HTMLEscapeString(typeset(text)))
}

// stopped gives a sentence a capital at its beginning and a full stop at its end.
func stopped(pieces []piece) []piece {
	out := slices.Clone(pieces)
	if len(out) > 0 {
		out[0].text = capital(out[0].text)
		out[len(out)-1].text = fullStop(out[len(out)-1].text)
	}
	return out
}

// plainly returns pieces as one text.
func plainly(pieces []piece) (text string) {
	for _, p := range pieces {
		text += p.text
	}
	return text
}

// readPhrases reads the sentences of a language; none if there is no file of them.
func readPhrases(code string) (phrases, error) {
	data, err := sentenceFiles.ReadFile("sentences/" + code + ".toml")
	if err != nil {
		return nil, nil
	}
	var file struct {
		Sentence, Composed map[string]string
	}
	if err := toml.Unmarshal(data, &file); err != nil {
		return nil, fmt.Errorf("report: sentences/%s.toml: %w", code, err)
	}
	var out phrases
	for _, all := range []map[string]string{file.Sentence, file.Composed} {
		for format, translation := range all {
			out = append(out, newPhrase(format, translation))
		}
	}
	slices.SortFunc(out, func(a, b *phrase) int {
		return cmp.Or(cmp.Compare(b.weight(), a.weight()), strings.Compare(a.translation, b.translation))
	})
	return out, nil
}
