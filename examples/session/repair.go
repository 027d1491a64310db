package session

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// longestRepaired is the longest line, in bytes, for which a repair is tried.
const longestRepaired = 240

// curly replaces the quotation marks of text processors with straight ones.
var curly = strings.NewReplacer("“", `"`, "”", `"`, "„", `"`, "‟", `"`, "‘", "'", "’", "'", "‚", "'", "«", `"`, "»", `"`)

// repairs lists common mistakes in a session file: the words for each, and the corrected line. A
// corrected line is shown only if the decoder accepts it.
var repairs = []struct {
	says  string
	mends func(line string) string
}{
	{"it has the curly quotes of a text processor; use straight quotes", curly.Replace},
	{"a backslash within double quotes begins a special character; write the path in single quotes",
		replacing(`"([^"']*\\[^"']*)"`, "'$1'")},
	{"a quote is missing at the end of the text", replacing(`^([^"]*"[^"#]*?)(\s*#.*)?$`, `$1"$2`)},
	{"write = between a key and its value", replacing(`^([\w.]+)\s*:\s*`, "$1 = ")},
	{"write numbers without a comma between thousands", replacing(`(\d),(\d{3})\b`, "$1$2")},
	{"write a decimal point, not a comma", replacing(`(\d),(\d)`, "$1.$2")},
	{"write the number without its unit", replacing(`(=\s*[-+]?[\d.]+)\s*(?:Hz|dBFS|dB|V|s|ohm|Ω|%|mA)\b`, "$1")},
	{"write true or false, in small letters", func(line string) string {
		return replacing(`=\s*(?i:no|false|off)\b`, "= false")(replacing(`=\s*(?i:yes|true|on)\b`, "= true")(line))
	}},
	{"write the number without quotes", replacing(`=\s*["']([-+]?[\d.]+)["']`, "= $1")},
	{"write the text in quotes", replacing(`=\s*([^\s"'\[{#=][^"'#=]*?)(\s*#.*)?$`, "= '$1'$2")},
	{"write the recording in braces", replacing(`=\s*("[^"]*"|'[^']*')`, "= { file = $1 }")},
}

// replacing returns a function that replaces a pattern in a line.
func replacing(pattern, by string) func(string) string {
	of := regexp.MustCompile(pattern)
	return func(line string) string { return of.ReplaceAllString(line, by) }
}

// explain turns a decoder's error into words with the line number and, if possible, the corrected
// line.
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
		if kind, _, found := strings.Cut(words, " into "); found { // the rest names Go types
			words = fmt.Sprintf("%s cannot be a %s", strings.Join(syntax.Key(), "."),
				strings.TrimPrefix(kind, "cannot decode "))
		}
		return fmt.Errorf("%w: line %d, column %d: %s", ErrSession, line, column, shortened(words))
	}
	return fmt.Errorf("%w: %s", ErrSession, shortened(err.Error()))
}

// within returns a line of a text, counted from 1, without surrounding space; "" if there is none.
func within(text string, line int) string {
	lines := strings.Split(text, "\n")
	if line < 1 || line > len(lines) {
		return ""
	}
	return strings.TrimSpace(lines[line-1])
}

// repair says what is wrong with the line at which the decoder stopped and how to write it; "" if
// no common mistake explains it.
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

// stopsAt reports whether the decoder stops at a line or before it.
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

// filesOf maps a table whose recordings are written in braces to one of its keys, as an example.
var filesOf = map[string]string{"seating": "left", "programme": "direct"}

// misplaced says how to write a recording's key that is outside its braces, or the channels of a
// recording of both sides; "" for every other key. line is the line as written.
func misplaced(key []string, line string) string {
	if len(key) != 2 {
		return ""
	}
	table, name := key[0], key[1]
	_, value, _ := strings.Cut(line, "=")
	value = shortened(strings.TrimSpace(value))
	switch files, braces := filesOf[table]; {
	case (table == "direct" || table == "direct_after") && name == "channel":
		return fmt.Sprintf("[%s] has a channel for each side: left = %s, right = %s or both, each with its own number",
			table, value, value)
	case braces && name == "file":
		return fmt.Sprintf("it belongs in the braces of a side: %s = { file = %s }", files, value)
	case braces && (name == "channel" || name == "play"):
		return fmt.Sprintf("it belongs in the braces of a recording: %s = { file = \"…\", %s = %s "+
			"}", files, name, value)
	}
	return ""
}
