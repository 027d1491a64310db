package response_test

import (
	"testing"

	"example.com/earnest/response"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Levels over the two octaves about 1 and 2 kHz, where seatings usually scatter by 0.3 and 0.4 dB.
// Two others that agree give v = 4/5 u² + 0.15² = 0.0945 and 0.1505 dB², so that z = d/√(3/2 v) is
// d/0.3765 and d/0.4751. 0.7 of the mean of both is 1.6659 d and their rms, the larger, 2.3967
// d/dB: an outlier from 6.5/2.3967 = 2.712 dB on. Of four, three others that agree give v = 4/6 u²
// + 0.15² = 0.0825 and 0.1292, z = d/√(4/3 v), and 2.7392 d/dB: from 5.5/2.7392 = 2.008 dB on.
func TestOutlierByHand(t *testing.T) {
	grid := response.LogGrid(720, 2800, 48)
	for name, c := range map[string]struct {
		levels []float64
		odd    int
	}{
		"three, within":  {[]float64{0, 0, 2.69}, 0},
		"three, outside": {[]float64{0, 0, 2.73}, 1},
		"four, within":   {[]float64{0, 0, 0, 1.99}, 0},
		"four, outside":  {[]float64{0, 0, 0, -2.03}, 1},
		"two":            {[]float64{0, 20}, 0},
	} {
		var curves []response.Curve
		for _, level := range c.levels {
			curves = append(curves, slope(t, grid, 90+level, 0))
		}
		a, err := response.AverageOf(curves)
		require.NoError(t, err, name)
		require.Len(t, a.Outliers, c.odd, name)
		for _, o := range a.Outliers {
			last := len(c.levels) - 1
			assert.Equal(t, last, o.Index, name)
			assert.InDelta(t, c.levels[last], o.Deviation, exact*100, "%s; rounding of 93 dB", name)
			assert.InDelta(t, 1000, o.Band.Low*1.4125, 1, "%s; the octave that scatters less, IEC 61260-1", name)
		}
	}
}
