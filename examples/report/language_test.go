package report

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/report/plot"
)

var (
	action    = regexp.MustCompile(`(?s)\{\{.*?\}\}`)
	spoken    = regexp.MustCompile(`(?:aria-label|title|alt|placeholder)="[^"]*\pL[^"]*"`)
	element   = regexp.MustCompile(`<[^>]*>`)
	extension = regexp.MustCompile(`\.[a-z]+\b`)
	words     = regexp.MustCompile(`^[^<]*\pL{2,} \pL{2,}`)
	unit      = regexp.MustCompile(`^ ?dB (SPL|rms)$`)
)

// literal returns the text of a template that is not looked up by key.
func literal(template string) []string {
	bare := action.ReplaceAllString(template, "")
	out := spoken.FindAllString(bare, -1)
	for _, line := range strings.Split(element.ReplaceAllString(bare, ""), "\n") {
		if line = strings.TrimSpace(extension.ReplaceAllString(line, "")); regexp.MustCompile(`\pL`).MatchString(line) {
			out = append(out, line)
		}
	}
	return out
}

func TestNoTextStandsInTheTemplate(t *testing.T) {
	assert.Empty(t, literal(pageText+rivalsText+opinionText))
	assert.Equal(t, []string{`aria-label="Claims"`, "claimed"},
		literal(`<p aria-label="Claims">claimed</p> <a href="{{.}}.wav" aria-label="{{.}}">{{.}}.wav</a>`))
}

// sources are the files of the package that are no tests.
func sources(t *testing.T) map[string]*ast.File {
	t.Helper()
	paths, err := filepath.Glob("*.go")
	require.NoError(t, err)
	out := map[string]*ast.File{}
	for _, path := range paths {
		if !strings.HasSuffix(path, "_test.go") {
			out[path], err = parser.ParseFile(token.NewFileSet(), path, nil, 0)
			require.NoError(t, err)
		}
	}
	return out
}

// plain are functions whose words are no text of the page: values and names in results.json and in
// tables for programs, and what errors say.
var plain = map[string]bool{"polarity": true, "agreement": true, "reached": true, "writeText": true,
	"writeFurther": true, "Errorf": true, "New": true, "panic": true}

// sentences are the string literals of a file that read as words.
func sentences(file *ast.File) (out []string) {
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.FuncDecl:
			return !plain[n.Name.Name]
		case *ast.CallExpr:
			switch f := n.Fun.(type) {
			case *ast.Ident:
				return !plain[f.Name]
			case *ast.SelectorExpr:
				return !plain[f.Sel.Name]
			}
		case *ast.Field: // its tag
			return false
		case *ast.BasicLit:
			if text, err := strconv.Unquote(n.Value); err == nil && n.Kind == token.STRING && words.MatchString(text) && !unit.MatchString(text) {
				out = append(out, text)
			}
		}
		return true
	})
	return out
}

func TestNoSentenceStandsInTheCode(t *testing.T) {
	for path, file := range sources(t) {
		for _, text := range sentences(file) {
			assert.Contains(t, []string{"scatter of seatings", "not reached"}, text, "%s: a text of the page stands in words/en.toml", path)
		}
	}
	file, err := parser.ParseFile(token.NewFileSet(), "", `package x
		var y = f("It is loud.", errors.New("it is not"))`, 0)
	require.NoError(t, err)
	assert.Equal(t, []string{"It is loud."}, sentences(file))
}

// A key that nothing looks up is as wrong as one that is looked up and missing.
func TestEveryTextIsUsedAndDefined(t *testing.T) {
	all := pageText + rivalsText + opinionText + changesText
	for path := range sources(t) {
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		all += string(text)
	}
	used := map[string]bool{}
	for _, m := range regexp.MustCompile(`"([a-z]+\.[a-z0-9-]*)"|Texts\["([a-z]+)"\]`).FindAllStringSubmatch(all, -1) {
		used[m[1]] = true
		used[m[2]+"."] = true
	}
	for section, texts := range english.Texts {
		for key := range texts {
			assert.True(t, used[section+"."+key] || used[section+"."], "nothing looks up %s.%s", section, key)
		}
	}
	for _, m := range regexp.MustCompile(`\b(?:Say|Text|text)[ (]+"([a-z]+)\.([a-z0-9-]+)"`).FindAllStringSubmatch(all, -1) {
		assert.Contains(t, english.Texts[m[1]], m[2], "no text %s.%s", m[1], m[2])
	}
	assert.Panics(t, func() { english.Text("page.none") })
}

func TestNumbersAreAsTheLanguageHasThem(t *testing.T) {
	l := english
	l.Decimal = ","
	l.Texts = map[string]map[string]string{"a": {"b": "%.1f dB, %d × %s"}}
	assert.Equal(t, "−1,5 dB, 2 × 1.5", l.Text("a.b", -1.5, 2, "1.5"), "text that is not a number does not change")
	assert.Equal(t, "+0,250", l.Number("%+.3f", 0.25))
	assert.Equal(t, "1,25 kHz", l.plainHz(1250))
	_, err := readLanguage("none")
	assert.ErrorContains(t, err, `language "none" is not known`)
}

func TestWordsLeadToDefinitions(t *testing.T) {
	l := english
	l.Texts = map[string]map[string]string{"a": {"b": "95 %% [<rms>](rms) of %s"}}
	v := &view{glossary: glossary{language: l, section: "Here", uses: map[string][]glossaryUse{}}}
	assert.Equal(t, `95 % <a class="term" id="from-rms-1" href="#what-rms">&lt;rms&gt;</a> of [a](tilt) &lt;b&gt;`,
		string(v.Say("a.b", "[a](tilt) <b>")), "what a session says is text")
}

func TestPlotsSpeakTheLanguage(t *testing.T) {
	assert.Equal(t, plot.English, english.Plot, "words/en.toml is what a translator begins with")
}
