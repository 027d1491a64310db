package response

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// textColumn is a column of numbers and its name in the comment.
type textColumn struct {
	name   string
	values []float64
}

// WriteCurve writes a curve as text that ReadCurve reads back equal: reference, rig and valid band
// in comments, then a line for each point with the frequency in Hz, the level in dB and, if the
// curve has it, the standard uncertainty in dB.
//
// A phase in radians, one per level, is written in degrees between the level and the uncertainty,
// so that ReadCurveWithPhase reads it back except for rounding. NaN is written as unknown. A nil
// phase is left out.
//
// Errors: a curve that NewCurve rejects; an infinite phase; a rig or reference that does not fit on
// one line. It panics if there are uncertainties or phases but not one per level.
func WriteCurve(w io.Writer, c Curve, phase []float64) error {
	if _, err := NewCurve(c.Frequency, c.Level); err != nil {
		return err
	}
	columns := []textColumn{{"frequency Hz", c.Frequency}, {"level dB", c.Level}}
	if phase != nil {
		degrees := make([]float64, len(phase))
		for i, v := range phase {
			if math.IsInf(v, 0) {
				return errors.New("response: cannot write a curve with an infinite phase; use NaN for a phase that is not known")
			}
			degrees[i] = v * 180 / math.Pi
		}
		columns = append(columns, textColumn{"phase degrees", degrees})
	}
	if c.Uncertainty != nil {
		for _, u := range c.Uncertainty {
			if u < 0 || math.IsInf(u, 0) {
				return fmt.Errorf("response: cannot write a curve with an uncertainty of %v dB; use NaN for an uncertainty that is not known", u)
			}
		}
		columns = append(columns, textColumn{"standard uncertainty dB", c.Uncertainty})
	}
	for _, about := range [][2]string{{"reference", c.Reference}, {"rig", c.Rig}} {
		if err := checkWords(about[1]); err != nil {
			return fmt.Errorf("response: cannot write a curve whose %s %w; put it on one short line", about[0], err)
		}
	}
	return writeColumns(w, c, columns)
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

// formatNumber writes enough digits to read the same number back.
func formatNumber(v float64) string {
	if math.IsNaN(v) {
		return unknownLevel
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

// checkWords returns an error if s cannot be written in a comment and read back.
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

// writeColumns writes the reference, rig and valid band of a curve in comments, and the columns.
func writeColumns(w io.Writer, c Curve, columns []textColumn) error {
	names := make([]string, len(columns))
	for k, column := range columns {
		if names[k] = column.name; len(column.values) != len(c.Frequency) {
			panic("response: a curve is written with one " + column.name + " per frequency")
		}
	}
	out := bufio.NewWriter(w)
	fmt.Fprintln(out, "# columns:", strings.Join(names, ", "))
	for _, about := range [][2]string{{"reference", c.Reference}, {"rig", c.Rig}} {
		if about[1] != "" {
			fmt.Fprintf(out, "# %s: %s\n", about[0], about[1])
		}
	}
	fmt.Fprintf(out, "# valid: %s\n", formatBand(AllFrequencies.Intersect(c.Valid)))
	for i := range c.Frequency {
		for k, column := range columns {
			if k > 0 {
				out.WriteByte('\t')
			}
			out.WriteString(formatNumber(column.values[i]))
		}
		out.WriteByte('\n')
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("response: writing a curve: %w", err)
	}
	return nil
}
