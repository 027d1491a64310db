// Package columns parses lines of numbers that people and programs write: the columns of a line,
// and the number in each.
package columns

import (
	"strconv"
	"strings"
)

// Separator is the separator of columns: ';', '\t', ',' or ' ' for any number of blanks.
type Separator byte

// SeparatorOf returns the separator of a line with numbers. Blanks separate only if every comma
// between them can be a decimal one.
func SeparatorOf(line string) Separator {
	switch {
	case strings.Contains(line, ";"):
		return ';'
	case strings.Contains(line, "\t"):
		return '\t'
	case !strings.Contains(line, ","):
		return ' '
	}
	fields := strings.Fields(line)
	for _, field := range fields {
		if _, err := Number(field, true); err != nil {
			return ','
		}
	}
	if len(fields) < 2 {
		return ','
	}
	return ' '
}

// Split returns the columns of a line, without blanks or quotation marks around
// them, and without empty ones at the end.
func (s Separator) Split(line string) []string {
	var columns []string
	if s == ' ' {
		columns = strings.Fields(line)
	} else {
		columns = strings.Split(line, string(s))
	}
	for i := range columns {
		columns[i] = strings.TrimSpace(strings.Trim(strings.TrimSpace(columns[i]), `"`))
	}
	for len(columns) > 0 && columns[len(columns)-1] == "" {
		columns = columns[:len(columns)-1]
	}
	return columns
}

// Number reads the number in a column, in which a comma is the decimal mark unless
// it separates. The errors are those of Number.
func (s Separator) Number(column string) (float64, error) { return Number(column, s != ',') }

// Comment returns the words of a comment line, without blanks around them, and whether it is one. A
// comment begins with #, ;, * or //.
func Comment(line string) (words string, is bool) {
	for _, mark := range []string{"#", ";", "*", "//"} {
		if words, is = strings.CutPrefix(line, mark); is {
			return strings.TrimSpace(words), true
		}
	}
	return "", false
}

// Number reads a decimal number: no hexadecimal, no infinity, no NaN. The errors
// are those of strconv, ErrSyntax and ErrRange.
func Number(s string, decimalComma bool) (float64, error) {
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
