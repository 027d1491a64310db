package target_test

import (
	"fmt"
	"math"
	"testing"

	"example.com/earnest/response"
	"example.com/earnest/target"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Left is louder by 1.5 dB in one seating and by 2.5 dB in the other: by 2 dB, with s/√n = 0.5 dB,
// the square of which is subtracted from the mean square.
func TestSidesThatDifferByTwoDecibels(t *testing.T) {
	band := response.Band{Low: 100, High: 8000}
	var match []response.Curve
	for _, dB := range []float64{1.5, 2.5} {
		match = append(match, response.Curve{Frequency: []float64{20, 20000}, Level: []float64{dB, dB}, Rig: "plate", Valid: response.AllFrequencies})
	}
	d, err := target.CompareSides(match, band, target.Config{})
	require.NoError(t, err)
	assert.InDelta(t, 2, d.Regions[0].Mean.Value, 1e-9, "dB; rounding")
	assert.InDelta(t, 0.5, d.Regions[0].Mean.Uncertainty, 1e-9, "dB; rounding")
	assert.InDelta(t, math.Sqrt(4-0.25), d.RMS.Value, 1e-9, "dB; rounding")
	assert.Equal(t, band, d.Asked)

	_, err = target.CompareSides(nil, band, target.Config{})
	assert.ErrorContains(t, err, "at least one seating")
}

// The match of the sides, by left less right of each seating: ±0.50 dB is Student's t of 2 degrees
// of freedom, 4.303, times 0.2 dB/√3.
func ExampleCompareSides() {
	var match []response.Curve
	for _, dB := range []float64{0.4, 0.6, 0.8} {
		c, err := response.NewCurve([]float64{20, 20000}, []float64{dB, dB})
		if err != nil {
			panic(err)
		}
		match = append(match, c)
	}
	d, err := target.CompareSides(match, response.Band{Low: 100, High: 8000}, target.Config{})
	if err != nil {
		panic(err)
	}
	fmt.Println(d.Regions[0].Mean.WithInterval(0.95))
	// Output: 0.60 dB (95 % confidence: 0.10 to 1.10 dB)
}
