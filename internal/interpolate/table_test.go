package interpolate

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func sine(n int) ([]float64, func(at float64) float64) {
	value := func(at float64) float64 { return math.Sin(0.9*at + 0.3) }
	x := make([]float64, n)
	for i := range x {
		x[i] = value(float64(i))
	}
	return x, value
}

func TestTableReadsBetweenSamples(t *testing.T) {
	x, value := sine(200)
	table := NewTable(48, 1024, 10)
	for _, at := range []float64{60, 60.5, 99.999, 100.0001, 123.4567} {
		assert.InDelta(t, value(at), table.Linear(x, at), 1e-5, "β = 10 leaves −100 dB; the line between places has an error of −120 dB")
		assert.InDelta(t, value(at), table.Nearest(x, at), 5e-4, "half a place of 1/1024 times a slope of 0.9, and −100 dB")
	}
}

func TestTableBeyondTheEnds(t *testing.T) {
	x, _ := sine(50)
	padded := make([]float64, 250)
	copy(padded[100:], x)
	table := NewTable(8, 64, 8)
	for _, at := range []float64{-9.5, -7.3, -0.2, 0, 3.7, 25.1, 47.6, 49, 55.2, 70} {
		assert.InDelta(t, table.Linear(padded, at+100), table.Linear(x, at), 1e-12, "rounding of the place")
		assert.InDelta(t, table.Nearest(padded, at+100), table.Nearest(x, at), 1e-12, "rounding of the place")
	}
	assert.Zero(t, table.Linear(x, -20))
	assert.Zero(t, table.Nearest(x, 80))
}
