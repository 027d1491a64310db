package session

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// longestRepaired is the longest line, in bytes, that a repair is looked for in.
const longestRepaired = 240

// curly are the quotation marks that text processors put in place of straight ones.
var curly = strings.NewReplacer("“", `"`, "”", `"`, "„", `"`, "‟", `"`, "‘", "'", "’", "'", "‚", "'", "«", `"`, "»", `"`)

// repairs are the slips that are usual in a session file: what is said of each, and the line without it. A line
// is shown only if the decoder takes it.
var repairs = []struct {
	says  string
	mends func(line string) string
}{
	{"it has curly quotes, which a text processor writes; write it with straight ones", curly.Replace},
	{"a backslash within double quotes begins a special character; write the path in single quotes",
		replacing(`"([^"']*\\[^"']*)"`, "'$1'")},
	{"a quote is missing at the end of the text", replacing(`^([^"]*"[^"#]*?)(\s*#.*)?$`, `$1"$2`)},
	{"= stands between a key and its value", replacing(`^([\w.]+)\s*:\s*`, "$1 = ")},
	{"numbers are written without a comma between thousands", replacing(`(\d),(\d{3})\b`, "$1$2")},
	{"a number has a decimal point, not a comma", replacing(`(\d),(\d)`, "$1.$2")},
	{"a number is written without its unit", replacing(`(=\s*[-+]?[\d.]+)\s*(?:Hz|dBFS|dB|V|s|ohm|Ω|%|mA)\b`, "$1")},
	{"it is true or false, in small letters", func(line string) string {
		return replacing(`=\s*(?i:no|false|off)\b`, "= false")(replacing(`=\s*(?i:yes|true|on)\b`, "= true")(line))
	}},
	{"a number is written without quotes", replacing(`=\s*["']([-+]?[\d.]+)["']`, "= $1")},
	{"a text is written in quotes", replacing(`=\s*([^\s"'\[{#=][^"'#=]*?)(\s*#.*)?$`, "= '$1'$2")},
	{"a recording is named within braces", replacing(`=\s*("[^"]*"|'[^']*')`, "= { file = $1 }")},
}

// replacing returns a function that puts a replacement where a pattern stands in a line.
func replacing(pattern, by string) func(string) string {
	of := regexp.MustCompile(pattern)
	return func(line string) string { return of.ReplaceAllString(line, by) }
}

// explain puts a decoder's error into words with a line number, and where it can with the line as it
// should be.
func explain(err error, text string) error {
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) && len(strict.Errors) > 0 {
		first := strict.Errors[0]
		line, _ := first.Position()
		return fmt.Errorf("%w: line %d: unknown key %q; %s", ErrSession, line, shortened(strings.Join(first.Key(), ".")),
			suggestion(first.Key(), within(text, line)))
	}
	var syntax *toml.DecodeError
	if errors.As(err, &syntax) {
		line, column := syntax.Position()
		if words := repair(text, line); words != "" {
			return fmt.Errorf("%w: line %d: %s", ErrSession, line, words)
		}
		words := strings.TrimPrefix(syntax.Error(), "toml: ")
		if kind, _, found := strings.Cut(words, " into "); found { // what follows are names of Go's types
			words = fmt.Sprintf("%s cannot be a %s", strings.Join(syntax.Key(), "."), strings.TrimPrefix(kind, "cannot decode "))
		}
		return fmt.Errorf("%w: line %d, column %d: %s", ErrSession, line, column, shortened(words))
	}
	return fmt.Errorf("%w: %s", ErrSession, shortened(err.Error()))
}

// within is a line of a text, counted from 1, without the space around it; empty if there is none.
func within(text string, line int) string {
	lines := strings.Split(text, "\n")
	if line < 1 || line > len(lines) {
		return ""
	}
	return strings.TrimSpace(lines[line-1])
}

// repair says what is wrong with a line that the decoder stopped at and how to write it; empty if no usual slip
// explains it.
func repair(text string, line int) string {
	wrong := within(text, line)
	if wrong == "" || len(wrong) > longestRepaired {
		return ""
	}
	lines := strings.Split(text, "\n")
	for _, r := range repairs {
		right := r.mends(wrong)
		if right == wrong {
			continue
		}
		lines[line-1] = right
		if !stopsAt(strings.Join(lines, "\n"), line) {
			return fmt.Sprintf("%s: %s", r.says, right)
		}
	}
	return ""
}

// stopsAt tells whether the decoder stops at a line or before it.
func stopsAt(text string, line int) bool {
	decoder := toml.NewDecoder(bytes.NewReader([]byte(text)))
	var s Session
	var stop *toml.DecodeError
	if err := decoder.Decode(&s); errors.As(err, &stop) {
		at, _ := stop.Position()
		return at <= line
	}
	return false
}

// filesOf are the keys of a table that name a recording within braces, and how one of them is written.
var filesOf = map[string]string{"seating": "left", "programme": "direct"}

// misplaced says how to write a key of a recording that stands outside its braces, or the channel of a recording
// that has one for each side; empty for every other key. line is how it was written.
func misplaced(key []string, line string) string {
	if len(key) != 2 {
		return ""
	}
	table, name := key[0], key[1]
	_, value, _ := strings.Cut(line, "=")
	value = shortened(strings.TrimSpace(value))
	switch files, braces := filesOf[table]; {
	case (table == "direct" || table == "direct_after") && name == "channel":
		return fmt.Sprintf("[%s] has a channel for each side: left = %s, right = %s or both, each with its own number", table, value, value)
	case braces && name == "file":
		return fmt.Sprintf("it stands within the braces of a side: %s = { file = %s }", files, value)
	case braces && (name == "channel" || name == "play"):
		return fmt.Sprintf("it stands within the braces of a recording: %s = { file = \"…\", %s = %s }", files, name, value)
	}
	return ""
}
