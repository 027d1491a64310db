package level

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// readPhase reads the third column in degrees, in the lines that ReadCurve took the frequencies from, and returns radians;
// nil when there is no third column.
func readPhase(lines []string, frequency []float64) ([]float64, error) {
	phase := make([]float64, 0, len(frequency))
	var separator string
	for number, line := range lines {
		line = strings.TrimSpace(line)
		if line == "" || isComment(line) || len(phase) == len(frequency) {
			continue
		}
		if separator == "" {
			first := columnSeparator(line)
			if f, err := parseColumn(append(splitColumns(line, first), "")[0], first); err != nil || f != frequency[0] {
				continue // the heading
			}
			separator = first
		}
		columns := splitColumns(line, separator)
		if len(columns) < 3 {
			if len(phase) == 0 {
				return nil, nil
			}
			return nil, fmt.Errorf("line %d: the phase is missing; write it on every line or on none", number+1)
		}
		f, errF := parseColumn(columns[0], separator)
		degrees, err := parseColumn(columns[2], separator)
		if err != nil || errF != nil || f != frequency[len(phase)] {
			return nil, fmt.Errorf("line %d: the phase %q is not a number; write degrees in digits alone, or leave the column out", number+1, columns[2])
		}
		phase = append(phase, degrees*math.Pi/180)
	}
	return phase, nil
}

// columnSeparator follows the rule of response.ReadCurve: blanks separate only if every comma between them can be a decimal one.
func columnSeparator(line string) string {
	switch {
	case strings.Contains(line, ";"):
		return ";"
	case strings.Contains(line, "\t"):
		return "\t"
	case !strings.Contains(line, ","):
		return " "
	}
	fields := strings.Fields(line)
	for _, field := range fields {
		if _, err := parseColumn(field, " "); err != nil {
			return ","
		}
	}
	if len(fields) < 2 {
		return ","
	}
	return " "
}

func splitColumns(line, separator string) []string {
	columns := strings.Fields(line)
	if separator != " " {
		columns = strings.Split(line, separator)
	}
	for i := range columns {
		columns[i] = strings.TrimSpace(strings.Trim(strings.TrimSpace(columns[i]), `"`))
	}
	for len(columns) > 0 && columns[len(columns)-1] == "" {
		columns = columns[:len(columns)-1]
	}
	return columns
}

func parseColumn(s, separator string) (float64, error) {
	s = strings.Replace(s, "\u2212", "-", 1) // a typographer's minus
	if separator != "," && !strings.Contains(s, ".") {
		s = strings.Replace(s, ",", ".", 1)
	}
	if strings.Trim(s, "0123456789+-.eE") != "" {
		return 0, strconv.ErrSyntax
	}
	return strconv.ParseFloat(s, 64)
}
