package report

import (
	"math"
	"strconv"
)

// number is a number in results.json and the CSV files. If it is not known, it is null or an empty
// field, never zero. It has seven digits, more than any rig resolves.
type number float64

// MarshalJSON writes the number, or null if it is not known.
func (n number) MarshalJSON() ([]byte, error) {
	if s := n.String(); s != "" {
		return []byte(s), nil
	}
	return []byte("null"), nil
}

// String returns the number for CSV; "" if it is not known.
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
