package response

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"example.com/earnest/internal/columns"
	"example.com/earnest/internal/regular"
)

// curveReader holds the state of reading a curve.
type curveReader struct {
	name string
	line int

	started, headed bool
	separator       columns.Separator
	decimal         byte // '.' or ','; 0 until one is seen

	most                   int // columns that a line may have
	phaseAt, uncertaintyAt int // number of the column, from 0; 0 if it is not read

	frequency, level, phase, uncertainty []float64
	stated                               map[string]string
	valid                                *Band
}

// fault returns an error in the line that was read last, which quotes its text, or in the text as a
// whole before the first line.
func (p *curveReader) fault(text, problem, remedy string) error {
	where := p.name
	if p.line > 0 {
		where += fmt.Sprintf(": line %d", p.line)
	}
	if text != "" {
		where += fmt.Sprintf(": %q", shorten(text))
	}
	return fmt.Errorf("response: %s: %s; %s", where, problem, remedy)
}

func (p *curveReader) read(text string) error {
	if p.line == 1 {
		text = strings.TrimPrefix(text, "\ufeff") // byte order mark
	}
	text = strings.TrimSpace(text)
	if text == "" {
		return nil
	}
	if words, is := columns.Comment(text); is {
		return p.comment(text, words)
	}
	if !p.started {
		p.separator = columns.SeparatorOf(text)
		if !p.headed && isHeading(p.separator.Split(text)) {
			p.headed = true
			return nil
		}
		p.started = true
	}
	return p.point(text)
}

// comment reads what a comment states about the curve.
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
		return p.fault(text, fmt.Sprintf("the %s was already given as %q", key, shorten(before)), "keep the right one")
	}
	if p.stated == nil {
		p.stated = map[string]string{}
	}
	p.stated[key] = value
	switch key {
	case "rig", "reference":
		if err := checkWords(value); err != nil {
			return p.fault(text, fmt.Sprintf("the %s %v", key, err), "use fewer words")
		}
	case "valid":
		band, ok := parseBand(value)
		if !ok {
			return p.fault(text, "the valid band is not understood", `write it as "# valid: 20 to 20000 Hz"`)
		}
		p.valid = &band
	case "columns":
		if names := strings.Split(strings.ToLower(value), ","); len(names) > 2 {
			if p.started {
				return p.fault(text, "the columns are named after the first point", "move this line above the points")
			}
			return p.nameColumns(text, names)
		}
	}
	return nil
}

// nameColumns reads the names of the third column and of those after it.
func (p *curveReader) nameColumns(text string, names []string) error {
	p.most = len(names)
	readsPhase := p.phaseAt > 0
	p.phaseAt = 0
	for i, name := range names[2:] {
		ofPhase := strings.Contains(name, "phase")
		switch {
		case strings.Contains(name, "uncertainty") && !ofPhase:
			p.uncertaintyAt = i + 2
		case ofPhase && strings.Contains(name, "rad") && readsPhase:
			return p.fault(text, "the phase is named in radians", "write it in degrees")
		case ofPhase && readsPhase && !strings.Contains(name, "uncertainty"):
			p.phaseAt = i + 2
		}
	}
	return nil
}

// curve returns the curve that was read.
func (p *curveReader) curve() (Curve, error) {
	if len(p.frequency) < 2 {
		return Curve{}, fmt.Errorf("response: %s: a curve needs at least two points; the text holds %d; "+
			"write one frequency in Hz and one level in dB to a line", p.name, len(p.frequency))
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

const (
	longestText  = 16 << 20 // bytes; a line takes about 20, and 100 points to an octave are a thousand lines
	longestLine  = 4096     // bytes; a frequency and a level need far fewer
	longestWords = 1024     // bytes of a rig or a reference
	unknownLevel = "unknown"
)

// ReadCurveFile reads a curve from a text file; see ReadCurve.
func ReadCurveFile(path string) (Curve, error) {
	f, _, err := regular.Open(path)
	if err != nil {
		return Curve{}, fmt.Errorf("response: %w", err)
	}
	defer f.Close()
	return ReadCurve(f, path)
}

// ReadCurve reads a curve from lines of text, one point to a line: a frequency in Hz and a level in
// dB, by ascending frequency. Error messages use name as the name of the text.
//
// Columns are separated by semicolons, tabs, blanks or commas, as on the first line with numbers.
// Decimal commas are understood if the comma is not the separator; one file keeps to one decimal
// mark. A level that is not known is written "unknown". A third column is commonly the phase and is
// not read (ReadCurveWithPhase reads it), unless a comment says that it is the uncertainty. With
// more than three columns a comment has to name them.
//
// Lines that begin with #, ;, * or // are comments, and the first line that is no comment may be a
// heading without numbers. Some comments are read:
//
//	# rig: flat plate
//	# reference: 20 µPa
//	# valid: 20 to 20000 Hz
//	# columns: frequency Hz, level dB, phase degrees, standard uncertainty dB
//
// Without "valid" the curve is valid over the range of its points.
//
// If the text cannot be read, the error names the line.
func ReadCurve(r io.Reader, name string) (Curve, error) {
	c, _, err := readCurve(r, &curveReader{name: name, most: 3})
	return c, err
}

// ReadCurveWithPhase reads a curve as ReadCurve does, and the phase in degrees from the third
// column, or from the column that a comment names so. It returns the phase in radians, one per
// frequency, NaN where it is written "unknown". The phase is nil if the text has none.
func ReadCurveWithPhase(r io.Reader, name string) (Curve, []float64, error) {
	return readCurve(r, &curveReader{name: name, most: 3, phaseAt: 2})
}

// shorten keeps an error message short, whatever the line.
func shorten(text string) string {
	const most = 60
	if r := []rune(text); len(r) > most {
		return string(r[:most]) + "…"
	}
	return text
}

func readCurve(r io.Reader, p *curveReader) (Curve, []float64, error) {
	text := &io.LimitedReader{R: r, N: longestText + 1}
	lines := bufio.NewScanner(text)
	lines.Buffer(make([]byte, 0, longestLine), longestLine+2)
	lines.Split(splitLines)
	for lines.Scan() {
		p.line++
		if err := p.read(lines.Text()); err != nil {
			return Curve{}, nil, err
		}
	}
	switch err := lines.Err(); {
	case text.N == 0:
		problem := fmt.Sprintf("more than %d MiB of text", longestText>>20)
		return Curve{}, nil, p.fault("", problem, "a curve is some hundred lines; name its file")
	case errors.Is(err, errBinary):
		p.line++
		return Curve{}, nil, p.fault("", "this is not plain text",
			"save the curve as UTF-8 text, one frequency and one level to a line")
	case errors.Is(err, bufio.ErrTooLong):
		p.line++
		problem := fmt.Sprintf("the line is longer than %d characters", longestLine)
		return Curve{}, nil, p.fault("", problem, "write one frequency and one level to a line")
	case err != nil:
		return Curve{}, nil, fmt.Errorf("response: %s: %w", p.name, err)
	}
	c, err := p.curve()
	return c, p.phase, err
}

var errBinary = errors.New("binary data")

// splitLines ends a line at \n, \r or \r\n. It stops at the first byte that no text contains, so
// that a binary file is reported as one, however its bytes arrive.
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

// parseBand reads "20 to 20000 Hz", "0 to inf Hz" or "nowhere".
func parseBand(s string) (Band, bool) {
	if s == "nowhere" {
		return Band{}, true
	}
	low, high, _ := strings.Cut(strings.TrimSuffix(s, "Hz"), "to")
	b := Band{High: math.Inf(1)}
	var err, errHigh error
	b.Low, err = columns.Number(strings.TrimSpace(low), true)
	if high = strings.TrimSpace(high); high != "inf" {
		b.High, errHigh = columns.Number(high, true)
	}
	return b, err == nil && errHigh == nil && b.Low >= 0 && !b.Empty()
}
