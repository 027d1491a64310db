package statistic_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/statistic"
	"example.com/earnest/internal/testing/known"
)

// The distribution by scipy.stats: testdata/reference/statistics.py.
func TestNoncentralFEqualsSciPy(t *testing.T) {
	var reference struct {
		Noncentral []struct{ X, N, K, Lambda, Probability float64 }
	}
	known.Values(t, "statistics.json", &reference)
	require.Greater(t, len(reference.Noncentral), 50)
	for _, c := range reference.Noncentral {
		k, tolerance := c.K, 1e-9 // as scipy states
		if k == 0 {
			k, tolerance = math.Inf(1), 2e-5 // a million degrees in place of infinitely many
		}
		assert.InDelta(t, c.Probability, statistic.NoncentralF(c.X, c.N, k, c.Lambda), tolerance, "%+v", c)
	}
	assert.Zero(t, statistic.NoncentralF(0, 2, 10, 3))
	assert.InDelta(t, 1-math.Exp(-4), statistic.NoncentralF(4, 2, math.Inf(1), 0), 2e-5, "Rayleigh's distribution")
}
