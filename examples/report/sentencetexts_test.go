package report

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// speaking are the files whose texts can reach the page: findings, remedies, reasons, warnings and
// notes. Texts that they do not put there are errors, and names that other keys of the language
// translate.
var speaking = []string{
	"response/figure.go", "response/band.go", "distortion/reading.go", "response/capture/fitness/*.go",
	"response/capture/placement/average.go", "response/capture/placement/plays.go", "response/programme/*.go",
	"response/level/*.go", "target/*.go", "target/change/*.go", "target/claim/*.go", "target/review/*.go",
}

// elsewhere are files whose sentences are only for the assistant of the recordings.
var elsewhere = []string{"target/review/next.go", "target/review/identify.go", "target/review/sounds.go",
	"target/review/pieces.go", "target/review/conditions.go"}

// unprinted are names of figures and causes, texts of errors, and texts for other readers.
var unprinted = []string{
	"; the uncertainty of the level is not known", "crosstalk of the interface", "impedance of the headphones",
	"the %s", "the channel is silent", "the load's recording", "the recording is shorter than %.1f s",
	"to come", "voltage at the terminals",
	" (%.0f %% of the band)", "%.2f s", "%.2g s", "%.3f s", "%.3g h", "%.3g min", "%.4g kHz", "%.4g s",
	"%g Hz is never stronger than all the rest", "%s is %v",
	"%s: %.1f dB above the background, where %.0f dB are needed", "%s: %v: %s of each %s", "%s: not known",
	"%s: nothing was recorded", "%s: the recording", "%v: mean %+.2f dB, rms %.2f dB%s",
	", as if it had been recorded at %g Hz and not at the %g Hz that the file states", "20 µPa at 1 V",
	"; %s to allow for the uncertainty of the level (k = 2)", "A-weighted level",
	"Its third octaves scatter by %.2f dB about %s.",
	"NIOSH 98-126, Criteria for a Recommended Standard: Occupational Noise Exposure, 1998",
	"Too few third octaves are known to distinguish a direct recording from one through headphones.", "a flat line",
	"above noise", "above silence", "add music or speech with Play", "add one with Seat", "aligned at %s",
	"aligned for the least weighted square error", "aligned over %s", "an output of no impedance",
	"below the noise", "beside the headphones while they are silent", "beside the headphones while they play",
	"beyond the measurement", "beyond the microphone", "beyond the sample rate", "both sides alone",
	"cannot tell here", "cannot tell", "capture: %s", "direct, at the end", "direct, filtered by the response of ",
	"falling re sweep", "highest current of the amplifier", "highest voltage of the amplifier", "known resistor",
	"known well", "level control", "level of the calibrator's tone", "level under the cup", "load channel",
	"low mids", "mark re sweep", "misfit of the law", "no difference", "no frequency stated", "no level stated",
	"no limit stated", "no reference stated", "no time at all", "noise beside the headphones",
	"noise under the cup", "noise without headphones", "not aligned", "not measured at that frequency",
	"not measured at that level", "not measured", "not met", "nothing stated", "of the load's voltage",
	"of the noise under the cup", "of the noise without headphones", "of the source's voltage", "off by",
	"other channel", "other side", "output impedance", "output voltage", "parts per million", "piece of %.0f s",
	"recorded at", "recording of the calibrator", "review: the component %q", "ripple of the direct recording",
	"sample rate", "sensitivity of the headphones", "sensitivity of the recording", "series resistor",
	"signal to noise", "source channel", "target %q, %v", "that of the known resistor",
	"there is a tone at %.1f Hz, %+.1f %% away from %g Hz%s", "the %s%.0s", "third harmonic", "too near the limit",
	"uncertainty not known", "upper mids", "what was played",
}

// texts collects the texts of a file as formats of package fmt, by text with the place. What is
// not a literal in a concatenation is %s.
type texts struct {
	files *token.FileSet
	all   map[string]string
}

// text returns what an expression prints, and whether any of it is a literal.
func (x *texts) text(e ast.Expr) (format string, literal bool) {
	switch e := e.(type) {
	case *ast.BasicLit:
		if text, err := strconv.Unquote(e.Value); err == nil && e.Kind == token.STRING {
			return text, true
		}
	case *ast.ParenExpr:
		return x.text(e.X)
	case *ast.BinaryExpr:
		if e.Op == token.ADD {
			left, some := x.text(e.X)
			right, more := x.text(e.Y)
			return left + right, some || more
		}
	case *ast.CallExpr:
		if f, ok := e.Fun.(*ast.SelectorExpr); ok && f.Sel.Name == "Sprintf" {
			if format, literal := x.text(e.Args[0]); literal {
				return format, true
			}
		}
	}
	return "%s", false
}

var prose = regexp.MustCompile(`[a-z] [a-z]|[a-z]{3}.*%|%.*[a-z]{3}`)

// visit picks the texts out of the syntax. Errors and what is not printed are left out.
func (x *texts) visit(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.ImportSpec, *ast.Field:
		return false
	case *ast.IndexExpr:
		ast.Inspect(n.X, x.visit)
		return false
	case *ast.ValueSpec: // kinds of finding, and other names
		if _, literal := n.Type.(*ast.SelectorExpr); literal {
			return false
		}
	case *ast.CallExpr:
		switch f := n.Fun.(type) {
		case *ast.Ident:
			return f.Name != "panic"
		case *ast.SelectorExpr:
			if f.Sel.Name == "Errorf" || f.Sel.Name == "New" {
				return false
			}
		}
	}
	e, ok := n.(ast.Expr)
	if !ok {
		return true
	}
	format, literal := x.text(e)
	if !literal {
		return true
	}
	if prose.MatchString(format) {
		x.all[strings.ReplaceAll(format, "%%s", "%s")] = x.files.Position(e.Pos()).String()
	}
	if call, ok := e.(*ast.CallExpr); ok {
		for _, a := range call.Args[1:] {
			ast.Inspect(a, x.visit)
		}
	}
	if sum, ok := e.(*ast.BinaryExpr); ok {
		x.operands(sum)
	}
	return false
}

// operands looks inside the parts of a concatenation that are not literals.
func (x *texts) operands(sum *ast.BinaryExpr) {
	for _, part := range []ast.Expr{sum.X, sum.Y} {
		if inner, ok := part.(*ast.BinaryExpr); ok {
			x.operands(inner)
		} else if call, ok := part.(*ast.CallExpr); ok {
			for _, a := range call.Args {
				if _, literal := a.(*ast.BasicLit); !literal {
					ast.Inspect(a, x.visit)
				}
			}
		}
	}
}

// libraryTexts returns the texts of the library that can reach the page.
func libraryTexts(t *testing.T) map[string]string {
	x := &texts{token.NewFileSet(), map[string]string{}}
	for _, pattern := range speaking {
		paths, err := filepath.Glob("../../" + pattern)
		require.NoError(t, err)
		require.NotEmpty(t, paths)
		for _, path := range paths {
			if strings.HasSuffix(path, "_test.go") || slices.Contains(elsewhere, strings.TrimPrefix(path, "../../")) {
				continue
			}
			f, err := parser.ParseFile(x.files, path, nil, 0)
			require.NoError(t, err)
			ast.Inspect(f, x.visit)
		}
	}
	return x.all
}

// Every text of the library that can reach the page has its translation, and each translation has
// its text, with the same number of values.
func TestEverySentenceOfTheLibraryIsTranslated(t *testing.T) {
	all := libraryTexts(t)
	require.Greater(t, len(all), 500, "texts were found in the source")
	for _, code := range Languages() {
		if code == english.Code {
			continue
		}
		l, err := readLanguage(code)
		require.NoError(t, err)
		var file struct{ Sentence, Composed map[string]string }
		data, err := sentenceFiles.ReadFile("sentences/" + code + ".toml")
		require.NoError(t, err)
		require.NoError(t, toml.Unmarshal(data, &file))
		for format, place := range all {
			_, there := file.Sentence[format]
			_, part := file.Composed[format]
			assert.True(t, there || part || l.nameOf(format) != "" || slices.Contains(unprinted, format), "%s: no %q of %s", code, format, strings.TrimPrefix(place, "../../"))
		}
		for format, translation := range file.Sentence {
			_, there := all[format]
			assert.True(t, there, "%s: the library does not say %q", code, format)
			assert.Equal(t, placesOf(format), placesOf(translation), "%s: the values of %q", code, format)
		}
		for format, translation := range file.Composed {
			assert.Equal(t, placesOf(format), placesOf(translation), "%s: the values of %q", code, format)
		}
	}
	for _, format := range unprinted {
		assert.Contains(t, all, format)
	}
}

// Of each format, a sentence with values is found, in the right order, by the phrase of that format
// and no other.
func TestEveryPhraseFindsItsSentence(t *testing.T) {
	l, err := readLanguage("de")
	require.NoError(t, err)
	var file struct{ Sentence map[string]string }
	data, err := sentenceFiles.ReadFile("sentences/de.toml")
	require.NoError(t, err)
	require.NoError(t, toml.Unmarshal(data, &file))
	for format, translation := range file.Sentence {
		var values []string
		said := formatVerb.ReplaceAllStringFunc(format, func(verb string) string {
			switch {
			case verb == "%%":
				return "%"
			case verb == "%.0s":
				return ""
			}
			value := strconv.Itoa(len(values) + 2)
			values = append(values, value)
			if strings.HasSuffix(verb, "q") {
				value = strconv.Quote(value)
			}
			return value
		})
		want, next := "", 0
		at := 0
		for _, m := range placeVerb.FindAllStringSubmatchIndex(translation, -1) {
			want += translation[at:m[0]]
			at = m[1]
			switch {
			case translation[m[0]:m[1]] == "%%":
				want += "%"
				continue
			case m[2] >= 0:
				next = int(translation[m[2]] - '1')
			}
			want += values[next]
			next++
		}
		want += translation[at:]
		assert.Equal(t, want, plainly(l.translated(said)), "%s", format)
	}
}

// placesOf counts the values of a format.
func placesOf(format string) int {
	return len(formatVerb.FindAllString(regexp.MustCompile(`%%|%\.0s`).ReplaceAllString(format, ""), -1))
}
