package response_test

import (
	"testing"

	"example.com/earnest/response"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Three seatings about 90 dB, level over two octaves: the median curve is the middle
// one, the usual distance the middle of the three distances from it.
func TestOddIsMoreThanHalfADecibelAndThreeTimesTheUsual(t *testing.T) {
	grid := []float64{1000, 2000, 4000} // weights of ½, 1 and ½ octave, so that all is exact
	for name, c := range map[string]struct {
		levels []float64
		odd    int
	}{
		"three times 1 dB":           {[]float64{-1, 0, 3}, 0},
		"more than three times":      {[]float64{-1, 0, 3.01}, 1},
		"half a decibel beside none": {[]float64{0, 0, 0.5}, 0},
		"more than half a decibel":   {[]float64{0, 0, 0.51}, 1},
	} {
		var curves []response.Curve
		for _, level := range c.levels {
			curves = append(curves, slope(t, grid, 90+level, 0))
		}
		a, err := response.AverageOf(curves)
		require.NoError(t, err, name)
		require.Len(t, a.Outliers, c.odd, name)
		for _, o := range a.Outliers {
			assert.Equal(t, 2, o.Index, name)
			assert.InDelta(t, c.levels[2], o.Distance, exact*100, "%s; rounding of 93 dB", name)
			assert.InDelta(t, c.levels[2], o.Deviation, exact*100, "%s; rounding of 93 dB", name)
			assert.InDelta(t, -c.levels[0], o.Usual, exact*100, "%s; rounding of 93 dB", name)
		}
	}
}
