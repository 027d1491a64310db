package statistic

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestMedian(t *testing.T) {
	x := []float64{9, 1, 4, 2}
	assert.Equal(t, 3.0, Median(x), "(2 + 4)/2")
	assert.Equal(t, []float64{9, 1, 4, 2}, x, "left as it was")
	assert.Equal(t, 4.0, Median([]float64{9, 4, 1}))
	assert.True(t, math.IsNaN(Median(nil)))
	assert.True(t, math.IsNaN(Median([]float64{1, math.NaN(), 2})))
}

func TestLargestIgnoresUnknownValues(t *testing.T) {
	nan := math.NaN()
	assert.Equal(t, 5., Largest(nan, 5, nan, 1, nan))
	assert.Equal(t, -3., Largest(-3))
	assert.True(t, math.IsNaN(Largest(nan, nan)))
	assert.True(t, math.IsNaN(Largest()))
}

func TestMedianDeviation(t *testing.T) {
	median, deviation := MedianDeviation([]float64{1, 1, 2, 2, 4, 6, 9})
	assert.Equal(t, 2.0, median)
	assert.Equal(t, 1.0, deviation, "the distances are 1, 1, 0, 0, 2, 4, 7")
}

func TestMeanSquare(t *testing.T) {
	assert.Equal(t, 12.5, MeanSquare([]float64{3, -4}))
	assert.True(t, math.IsNaN(MeanSquare(nil)))
}
