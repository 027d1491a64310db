package response

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// point reads a frequency, a level, and the phase and uncertainty if the line has them.
func (p *curveReader) point(text string) error {
	columns := p.separator.Split(text)
	switch {
	case len(columns) < 2:
		return p.fault(text, "there are not two columns",
			"write a frequency and a level on each line, separated as on the first")
	case len(columns) > p.most && p.separator == ',':
		return p.fault(text, fmt.Sprintf("there are %d columns", len(columns)),
			"keep frequency and level; if commas are decimal marks, separate the columns by semicolons")
	case len(columns) > p.most:
		return p.fault(text, fmt.Sprintf("there are %d columns", len(columns)),
			`keep the frequency, the level and at most one more, or name them all above the points, as in "# columns: frequency Hz, level dB, phase degrees, standard uncertainty dB"`)
	}
	f, err := p.nextFrequency(text, columns[0])
	if err != nil {
		return err
	}
	level, err := p.numberOrUnknown(text, "level", "dB", columns[1])
	if err != nil {
		return err
	}
	p.frequency, p.level = append(p.frequency, f), append(p.level, level)
	if err := p.pointPhase(text, columns); err != nil {
		return err
	}
	return p.pointUncertainty(text, columns)
}

// pointPhase reads the phase. Either every line has one or no line has.
func (p *curveReader) pointPhase(text string, columns []string) error {
	if p.phaseAt == 0 {
		return nil
	}
	if has := len(columns) > p.phaseAt; !has || len(p.phase) < len(p.frequency)-1 {
		if has || len(p.phase) > 0 {
			return p.fault(text, "the phase is missing here or above", `write it on every line, or "unknown", or on none`)
		}
		return nil
	}
	degrees, err := p.numberOrUnknown(text, "phase", "degrees", columns[p.phaseAt])
	if err != nil {
		return err
	}
	p.phase = append(p.phase, degrees*math.Pi/180)
	return nil
}

func (p *curveReader) pointUncertainty(text string, columns []string) error {
	if p.uncertaintyAt == 0 {
		return nil
	}
	if len(columns) <= p.uncertaintyAt {
		return p.fault(text, "the uncertainty is missing", `write it in the column that is named so, or "unknown"`)
	}
	u, err := p.numberOrUnknown(text, "uncertainty", "dB", columns[p.uncertaintyAt])
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
	f, err := p.number(text, "frequency", "Hz", column)
	if err != nil {
		return 0, err
	}
	last := 0.0
	if n := len(p.frequency); n > 0 {
		last = p.frequency[n-1]
	}
	switch {
	case f > last:
		return f, nil
	case f <= 0:
		return 0, p.fault(text, "the frequency is not above zero", "remove this line; frequencies are in Hz")
	case f == last:
		return 0, p.fault(text, fmt.Sprintf("%v Hz is there twice", f), "keep one level for each frequency")
	}
	return 0, p.fault(text, fmt.Sprintf("%v Hz comes after %v Hz", f, last), "sort the lines by ascending frequency")
}

func (p *curveReader) numberOrUnknown(text, what, unit, column string) (float64, error) {
	if strings.EqualFold(column, unknownLevel) {
		return math.NaN(), nil
	}
	return p.number(text, what, unit, column)
}

func (p *curveReader) number(text, what, unit, column string) (float64, error) {
	if column == "" {
		return 0, p.fault(text, "the "+what+" is missing", "write it, or remove the line")
	}
	v, err := p.separator.Number(column)
	switch {
	case errors.Is(err, strconv.ErrRange):
		return 0, p.fault(text, fmt.Sprintf("the %s %q is too large", what, shorten(column)), "correct or remove the line")
	case err != nil && what == "frequency":
		return 0, p.fault(text, fmt.Sprintf("the frequency %q is not a number", shorten(column)),
			"write it in digits alone, in Hz; begin comments with #")
	case err != nil:
		return 0, p.fault(text, fmt.Sprintf("the %s %q is not a number", what, shorten(column)), fmt.Sprintf(`write it in digits alone, in %s, or "unknown"`, unit))
	}
	if i := strings.IndexAny(column, ".,"); i >= 0 {
		if p.decimal != 0 && p.decimal != column[i] {
			return 0, p.fault(text, fmt.Sprintf("%q has the decimal mark %q, the lines before %q",
				shorten(column), column[i], p.decimal),
				"keep to one decimal mark, and write thousands without one")
		}
		p.decimal = column[i]
	}
	return v, nil
}

// isHeading reports whether a line holds words only. A line with a number in it is a point, and
// must not be skipped because of a slip.
func isHeading(columns []string) bool {
	for _, column := range columns {
		for _, word := range strings.Fields(column) {
			if _, err := strconv.ParseFloat(strings.Replace(word, ",", ".", 1), 64); err == nil ||
				errors.Is(err, strconv.ErrRange) {
				return false
			}
		}
	}
	return len(columns) > 0 && columns[0] != "" && !strings.Contains("0123456789+-.", columns[0][:1])
}
