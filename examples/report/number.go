package report

import (
	"encoding/json"
	"math"
	"strconv"
)

// Number is a figure in results.json and the CSV files. What is not known is
// null there and an empty field here: never zero. Seven digits are kept, more
// than any rig can tell.
type Number float64

// MarshalJSON writes the number, or null when it is not known.
func (n Number) MarshalJSON() ([]byte, error) {
	if s := n.String(); s != "" {
		return []byte(s), nil
	}
	return []byte("null"), nil
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (n *Number) UnmarshalJSON(data []byte) error {
	var v *float64
	if err := json.Unmarshal(data, &v); err != nil {
		return err
	}
	if *n = Number(math.NaN()); v != nil {
		*n = Number(*v)
	}
	return nil
}

// String is the number as CSV has it; empty when it is not known.
func (n Number) String() string {
	if math.IsNaN(float64(n)) || math.IsInf(float64(n), 0) {
		return ""
	}
	return strconv.FormatFloat(float64(n), 'g', 7, 64)
}

func numbers(values []float64) []Number {
	if values == nil {
		return nil
	}
	out := make([]Number, len(values))
	for i, v := range values {
		out[i] = Number(v)
	}
	return out
}
