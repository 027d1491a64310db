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
