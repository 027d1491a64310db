package report

import (
	"math"
	"strconv"
)

// number is a number in results.json and the CSV files. What is not known is
// null there and an empty field here: never zero. Seven digits are kept, more
// than any rig can tell.
type number float64

// MarshalJSON writes the number, or null when it is not known.
func (n number) MarshalJSON() ([]byte, error) {
	if s := n.String(); s != "" {
		return []byte(s), nil
	}
	return []byte("null"), nil
}

// String is the number as CSV has it; empty when it is not known.
func (n number) String() string {
	if math.IsNaN(float64(n)) || math.IsInf(float64(n), 0) {
		return ""
	}
	return strconv.FormatFloat(float64(n), 'g', 7, 64)
}

func numbers(values []float64) []number {
	if values == nil {
		return nil
	}
	out := make([]number, len(values))
	for i, v := range values {
		out[i] = number(v)
	}
	return out
}
