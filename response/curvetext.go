package response

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strconv"
	"strings"
)

// TextError is what is wrong with a curve written as text. Line is counted
// from 1, and 0 when the fault lies in the text as a whole.
type TextError struct {
	Name    string // the file, as the caller named it
	Line    int
	Text    string // the line itself
	Problem string // what is wrong
	Remedy  string // what to do about it
}

func (e *TextError) Error() string {
	where := e.Name
	if e.Line > 0 {
		where += fmt.Sprintf(": line %d", e.Line)
	}
	if e.Text != "" {
		where += fmt.Sprintf(": %q", shorten(e.Text))
	}
	return fmt.Sprintf("response: %s: %s; %s", where, e.Problem, e.Remedy)
}

// shorten keeps an error message readable, whatever the line was.
func shorten(text string) string {
	const most = 60
	if r := []rune(text); len(r) > most {
		return string(r[:most]) + "…"
	}
	return text
}

const (
	longestLine  = 4096 // bytes; a frequency and a level need far fewer
	longestWords = 1024 // bytes of a rig or a reference
	unknownLevel = "unknown"
)

// ReadCurveFile reads a curve from a text file; see ReadCurve.
func ReadCurveFile(path string) (Curve, error) {
	f, err := os.Open(path)
	if err != nil {
		return Curve{}, fmt.Errorf("response: %w", err)
	}
	defer f.Close()
	return ReadCurve(f, path)
}

// ReadCurve reads a curve from lines of text, one point to a line: a frequency
// in Hz and a level in dB, by ascending frequency. The name is for the error
// messages.
//
// Columns are separated by semicolons, tabs, blanks or commas, as the first
// line with numbers has them. A decimal comma is understood where the comma is
// not the separator; one file keeps to one decimal mark. A level that is not
// known is written "unknown". A third column is commonly the phase and is left
// unread, unless a comment says that it is the uncertainty (see below).
//
// Lines that begin with #, ;, * or // are comments, and the first line that is
// no comment may be a heading without numbers. Some comments are read:
//
//	# rig: flat plate
//	# reference: 20 µPa
//	# valid: 20 to 20000 Hz
//	# columns: frequency Hz, level dB, standard uncertainty dB
//
// Without "valid" the curve holds over the range of its points.
//
// A text that cannot be read so gives a *TextError.
func ReadCurve(r io.Reader, name string) (Curve, error) {
	p := &curveReader{name: name}
	lines := bufio.NewScanner(r)
	lines.Buffer(make([]byte, 0, longestLine), longestLine+2)
	lines.Split(splitLines)
	for lines.Scan() {
		p.line++
		if err := p.read(lines.Text()); err != nil {
			return Curve{}, err
		}
	}
	switch err := lines.Err(); {
	case errors.Is(err, errBinary):
		p.line++
		return Curve{}, p.fault("", "this is not plain text", "save the curve as UTF-8 text, one frequency and one level to a line")
	case errors.Is(err, bufio.ErrTooLong):
		p.line++
		return Curve{}, p.fault("", fmt.Sprintf("the line is longer than %d characters", longestLine), "write one frequency and one level to a line")
	case err != nil:
		return Curve{}, fmt.Errorf("response: %s: %w", name, err)
	}
	return p.curve()
}

var errBinary = errors.New("binary data")

// splitLines ends a line at \n, \r or \r\n, and stops at the first byte that
// no text holds, so that a binary file is named as one however it is broken up.
func splitLines(data []byte, atEOF bool) (advance int, token []byte, err error) {
	end := bytes.IndexAny(data, "\r\n")
	line := data
	if end >= 0 {
		line = data[:end]
	}
	if bytes.ContainsFunc(line, func(c rune) bool { return c < ' ' && c != '\t' }) {
		return 0, nil, errBinary
	}
	switch {
	case len(line) > longestLine:
		return 0, nil, bufio.ErrTooLong
	case end < 0 && atEOF && len(data) > 0:
		return len(data), data, nil
	case end < 0, data[end] == '\r' && end+1 == len(data) && !atEOF:
		return 0, nil, nil // more is needed
	case data[end] == '\r' && end+1 < len(data) && data[end+1] == '\n':
		return end + 2, line, nil
	}
	return end + 1, line, nil
}

// curveReader holds what has been read so far.
type curveReader struct {
	name string
	line int

	started, headed bool
	separator       byte // ';', '\t', ' ' or ','
	decimal         byte // '.' or ','; 0 until one is seen

	frequency, level, uncertainty []float64
	withUncertainty               bool
	stated                        map[string]string
	valid                         *Band
}

func (p *curveReader) fault(text, problem, remedy string) *TextError {
	return &TextError{Name: p.name, Line: p.line, Text: text, Problem: problem, Remedy: remedy}
}

func (p *curveReader) read(text string) error {
	if p.line == 1 {
		text = strings.TrimPrefix(text, "\ufeff") // byte order mark
	}
	text = strings.TrimSpace(text)
	if text == "" {
		return nil
	}
	for _, mark := range []string{"#", ";", "*", "//"} {
		if strings.HasPrefix(text, mark) {
			return p.comment(text, strings.TrimSpace(text[len(mark):]))
		}
	}
	if !p.started {
		p.separator = separatorOf(text)
		if !p.headed && isHeading(p.columns(text)) {
			p.headed = true
			return nil
		}
		p.started = true
	}
	return p.point(text)
}

// comment takes from a comment what it states about the curve.
func (p *curveReader) comment(text, comment string) error {
	key, value, found := strings.Cut(comment, ":")
	if !found {
		return nil
	}
	key, value = strings.ToLower(strings.TrimSpace(key)), strings.TrimSpace(value)
	switch key {
	case "rig", "reference", "valid", "columns":
	default:
		return nil
	}
	if before, twice := p.stated[key]; twice && before != value {
		return p.fault(text, fmt.Sprintf("the %s was already given as %q", key, shorten(before)), "keep the one that holds")
	}
	if p.stated == nil {
		p.stated = map[string]string{}
	}
	p.stated[key] = value
	switch key {
	case "rig", "reference":
		if err := checkWords(value); err != nil {
			return p.fault(text, fmt.Sprintf("the %s %v", key, err), "say it in fewer words")
		}
	case "valid":
		band, ok := parseBand(value)
		if !ok {
			return p.fault(text, "the valid band is not understood", `write it as "# valid: 20 to 20000 Hz"`)
		}
		p.valid = &band
	case "columns":
		if names := strings.Split(strings.ToLower(value), ","); len(names) > 2 && strings.Contains(names[2], "uncertainty") {
			if p.started {
				return p.fault(text, "the columns are named after the first point", "move this line above the points")
			}
			p.withUncertainty = true
		}
	}
	return nil
}

// separatorOf tells how the columns of a line are separated. Blanks separate
// only if every comma between them can be a decimal one.
func separatorOf(text string) byte {
	switch {
	case strings.Contains(text, ";"):
		return ';'
	case strings.Contains(text, "\t"):
		return '\t'
	case !strings.Contains(text, ","):
		return ' '
	}
	fields := strings.Fields(text)
	for _, field := range fields {
		if _, err := parseNumber(field, true); err != nil {
			return ','
		}
	}
	if len(fields) < 2 {
		return ','
	}
	return ' '
}

func (p *curveReader) columns(text string) []string {
	var columns []string
	if p.separator == ' ' {
		columns = strings.Fields(text)
	} else {
		columns = strings.Split(text, string(p.separator))
	}
	for i := range columns {
		columns[i] = strings.TrimSpace(strings.Trim(strings.TrimSpace(columns[i]), `"`))
	}
	for len(columns) > 0 && columns[len(columns)-1] == "" {
		columns = columns[:len(columns)-1]
	}
	return columns
}

// isHeading tells whether a line is words. One with a number in it is a point,
// and a slip in it must not make it vanish.
func isHeading(columns []string) bool {
	for _, column := range columns {
		for _, word := range strings.Fields(column) {
			if _, err := strconv.ParseFloat(strings.Replace(word, ",", ".", 1), 64); err == nil || errors.Is(err, strconv.ErrRange) {
				return false
			}
		}
	}
	return len(columns) > 0 && columns[0] != "" && !strings.Contains("0123456789+-.", columns[0][:1])
}

// point reads a frequency, a level and perhaps an uncertainty.
func (p *curveReader) point(text string) error {
	columns := p.columns(text)
	switch {
	case len(columns) < 2:
		return p.fault(text, "there are not two columns", "write a frequency and a level on each line, separated as on the first")
	case len(columns) > 3 && p.separator == ',':
		return p.fault(text, fmt.Sprintf("there are %d columns", len(columns)), "keep frequency and level; if commas are decimal marks, separate the columns by semicolons")
	case len(columns) > 3:
		return p.fault(text, fmt.Sprintf("there are %d columns", len(columns)), "keep the frequency, the level and at most one more")
	}
	f, err := p.nextFrequency(text, columns[0])
	if err != nil {
		return err
	}
	level, err := p.numberOrUnknown(text, "level", columns[1])
	if err != nil {
		return err
	}
	p.frequency, p.level = append(p.frequency, f), append(p.level, level)
	if !p.withUncertainty {
		return nil
	}
	if len(columns) < 3 {
		return p.fault(text, "the uncertainty is missing", `write it in the third column, or "unknown"`)
	}
	u, err := p.numberOrUnknown(text, "uncertainty", columns[2])
	if err != nil {
		return err
	}
	if u < 0 {
		return p.fault(text, "the uncertainty is below zero", "write the standard uncertainty in dB")
	}
	p.uncertainty = append(p.uncertainty, u)
	return nil
}

// nextFrequency reads a frequency that must be above the one before.
func (p *curveReader) nextFrequency(text, column string) (float64, error) {
	f, err := p.number(text, "frequency", column)
	if err != nil {
		return 0, err
	}
	last := 0.0
	if n := len(p.frequency); n > 0 {
		last = p.frequency[n-1]
	}
	switch {
	case f <= 0:
		return 0, p.fault(text, "the frequency is not above zero", "remove this line; frequencies are in Hz")
	case f == last:
		return 0, p.fault(text, fmt.Sprintf("%v Hz is there twice", f), "keep one level for each frequency")
	case f < last:
		return 0, p.fault(text, fmt.Sprintf("%v Hz comes after %v Hz", f, last), "sort the lines by ascending frequency")
	}
	return f, nil
}

func (p *curveReader) numberOrUnknown(text, what, column string) (float64, error) {
	if strings.EqualFold(column, unknownLevel) {
		return math.NaN(), nil
	}
	return p.number(text, what, column)
}

func (p *curveReader) number(text, what, column string) (float64, error) {
	if column == "" {
		return 0, p.fault(text, "the "+what+" is missing", "write it, or remove the line")
	}
	v, err := parseNumber(column, p.separator != ',')
	switch {
	case errors.Is(err, strconv.ErrRange):
		return 0, p.fault(text, fmt.Sprintf("the %s %q is too large", what, shorten(column)), "correct or remove the line")
	case err != nil && what == "frequency":
		return 0, p.fault(text, fmt.Sprintf("the frequency %q is not a number", shorten(column)), "write it in digits alone, in Hz; begin comments with #")
	case err != nil:
		return 0, p.fault(text, fmt.Sprintf("the %s %q is not a number", what, shorten(column)), `write it in digits alone, in dB, or "unknown"`)
	}
	if i := strings.IndexAny(column, ".,"); i >= 0 {
		if p.decimal != 0 && p.decimal != column[i] {
			return 0, p.fault(text, fmt.Sprintf("%q has the decimal mark %q, the lines before %q", shorten(column), column[i], p.decimal),
				"keep to one decimal mark, and write thousands without one")
		}
		p.decimal = column[i]
	}
	return v, nil
}

// parseNumber reads a decimal number: no hexadecimal, no infinity, no NaN.
func parseNumber(s string, decimalComma bool) (float64, error) {
	s = strings.Replace(s, "\u2212", "-", 1) // a typographer's minus
	if whole, part, found := strings.Cut(s, ","); found && decimalComma && !strings.Contains(s, ".") &&
		whole != "" && part != "" && part[0] >= '0' && part[0] <= '9' {
		s = whole + "." + part
	}
	if strings.Trim(s, "0123456789+-.eE") != "" {
		return 0, strconv.ErrSyntax
	}
	return strconv.ParseFloat(s, 64)
}

// curve puts together what was read.
func (p *curveReader) curve() (Curve, error) {
	if len(p.frequency) < 2 {
		return Curve{}, &TextError{Name: p.name, Problem: fmt.Sprintf("a curve needs at least two points; the text holds %d", len(p.frequency)),
			Remedy: "write one frequency in Hz and one level in dB to a line"}
	}
	c, err := NewCurve(p.frequency, p.level)
	if err != nil {
		return Curve{}, fmt.Errorf("%s: %w", p.name, err)
	}
	c.Uncertainty = p.uncertainty
	c.Rig, c.Reference = p.stated["rig"], p.stated["reference"]
	if p.valid != nil {
		c.Valid = *p.valid
	}
	return c, nil
}

// parseBand reads "20 to 20000 Hz", "0 to inf Hz" or "nowhere".
func parseBand(s string) (Band, bool) {
	if s == "nowhere" {
		return Band{}, true
	}
	low, high, _ := strings.Cut(strings.TrimSuffix(s, "Hz"), "to")
	b := Band{High: math.Inf(1)}
	var err, errHigh error
	b.Low, err = parseNumber(strings.TrimSpace(low), true)
	if high = strings.TrimSpace(high); high != "inf" {
		b.High, errHigh = parseNumber(high, true)
	}
	return b, err == nil && errHigh == nil && b.Low >= 0 && !b.Empty()
}

func formatBand(b Band) string {
	if b.Empty() {
		return "nowhere"
	}
	high := "inf"
	if !math.IsInf(b.High, 1) {
		high = formatNumber(b.High)
	}
	return formatNumber(b.Low) + " to " + high + " Hz"
}

// formatNumber writes all the digits that bring the same number back.
func formatNumber(v float64) string {
	if math.IsNaN(v) {
		return unknownLevel
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

// checkWords tells whether s can stand in a comment and be read back.
func checkWords(s string) error {
	switch {
	case len(s) > longestWords:
		return fmt.Errorf("is longer than %d characters", longestWords)
	case strings.ContainsFunc(s, func(c rune) bool { return c < ' ' && c != '\t' }):
		return errors.New("holds a line break or another control character")
	case strings.TrimSpace(s) != s:
		return errors.New("begins or ends with a blank")
	}
	return nil
}

// WriteCurve writes a curve as text that ReadCurve reads back equal: what it
// says of itself in comments, then a line for each point with the frequency in
// Hz, the level in dB and, if the curve has it, the standard uncertainty in dB.
// A curve that NewCurve would not take, or a rig or reference that does not fit
// on one line, is an error. It panics if the curve has uncertainties but not
// one per level.
func WriteCurve(w io.Writer, c Curve) error {
	if _, err := NewCurve(c.Frequency, c.Level); err != nil {
		return err
	}
	if c.Uncertainty != nil && len(c.Uncertainty) != len(c.Level) {
		panic("response: WriteCurve: one uncertainty per level")
	}
	for _, u := range c.Uncertainty {
		if u < 0 || math.IsInf(u, 0) {
			return fmt.Errorf("response: cannot write a curve with an uncertainty of %v dB; NaN is for what is not known", u)
		}
	}
	out := bufio.NewWriter(w)
	columns := "# columns: frequency Hz, level dB"
	if c.Uncertainty != nil {
		columns += ", standard uncertainty dB"
	}
	fmt.Fprintln(out, columns)
	for _, about := range [][2]string{{"reference", c.Reference}, {"rig", c.Rig}} {
		if err := checkWords(about[1]); err != nil {
			return fmt.Errorf("response: cannot write a curve whose %s %w; say it on one short line", about[0], err)
		}
		if about[1] != "" {
			fmt.Fprintf(out, "# %s: %s\n", about[0], about[1])
		}
	}
	fmt.Fprintf(out, "# valid: %s\n", formatBand(Everywhere.Intersect(c.Valid)))
	for i, f := range c.Frequency {
		out.WriteString(formatNumber(f) + "\t" + formatNumber(c.Level[i]))
		if c.Uncertainty != nil {
			out.WriteString("\t" + formatNumber(c.Uncertainty[i]))
		}
		out.WriteByte('\n')
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("response: writing a curve: %w", err)
	}
	return nil
}
