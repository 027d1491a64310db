package level

import (
	"fmt"
	"math"
	"strings"

	"example.com/earnest/internal/columns"
)

// readPhase reads the third column in degrees, in the lines that ReadCurve took the frequencies from, and returns radians;
// nil when there is no third column.
func readPhase(lines []string, frequency []float64) ([]float64, error) {
	phase := make([]float64, 0, len(frequency))
	var separator columns.Separator
	for number, line := range lines {
		line = strings.TrimSpace(line)
		if _, comment := columns.Comment(line); comment || line == "" || len(phase) == len(frequency) {
			continue
		}
		if separator == 0 {
			first := columns.SeparatorOf(line)
			if f, err := first.Number(append(first.Split(line), "")[0]); err != nil || f != frequency[0] {
				continue // the heading
			}
			separator = first
		}
		parts := separator.Split(line)
		if len(parts) < 3 {
			if len(phase) == 0 {
				return nil, nil
			}
			return nil, fmt.Errorf("line %d: the phase is missing; write it on every line or on none", number+1)
		}
		f, errF := separator.Number(parts[0])
		degrees, err := separator.Number(parts[2])
		if err != nil || errF != nil || f != frequency[len(phase)] {
			return nil, fmt.Errorf("line %d: the phase %q is not a number; write degrees in digits alone, or leave the column out", number+1, parts[2])
		}
		phase = append(phase, degrees*math.Pi/180)
	}
	return phase, nil
}
