package correction_test

import (
	"math"
	"testing"

	"example.com/earnest/internal/testing/known"
	"example.com/earnest/target/correction"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The peaking filter nearest to a resonance of another shape, by scipy.optimize from many starting
// points: testdata/reference/statistics.py.
func TestNearestFilterEqualsSciPy(t *testing.T) {
	var reference struct {
		Filters []struct{ Centre, Width, Height, Before, After, Frequency, Gain, Q float64 }
	}
	known.Values(t, "statistics.json", &reference)
	require.Len(t, reference.Filters, 3)
	for _, want := range reference.Filters {
		c := curveOf(t, func(f float64) float64 {
			u := math.Log2(f/want.Centre) / want.Width
			if math.Abs(u) >= 1 {
				return 0
			}
			return want.Height * (1 + math.Cos(math.Pi*u)) / 2
		})
		k := fit(t, c, correction.Config{Filters: 1, NoShelves: true, Boost: 12})
		require.Len(t, k.Filters, 1)
		got := k.Filters[0]
		assert.InDelta(t, want.Before, k.Before.RMS.Value, 2e-3, "48 points to the octave")
		assert.InDelta(t, want.After, k.After.RMS.Value, 2e-3, "48 points to the octave")
		assert.InDelta(t, 0, math.Log2(got.Frequency/want.Frequency), 0.01, "octaves; a flat minimum")
		assert.InDelta(t, want.Gain, got.Gain, 0.05, "a flat minimum")
		assert.InEpsilon(t, want.Q, got.Q, 0.02, "a flat minimum")
	}
}
