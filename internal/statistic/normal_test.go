package statistic_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/internal/statistic"
)

// The moments of the normal distribution are 1, 0, 1, 0, 3; its characteristic function is
// exp(−t²/2).
func TestOverNormal(t *testing.T) {
	for k, moment := range []float64{1, 0, 1, 0, 3} {
		got := statistic.OverNormal(func(z float64) float64 { return math.Pow(z, float64(k)) })
		assert.InDelta(t, moment, got, 1e-11, "what lies beyond 8 standard deviations")
	}
	assert.InDelta(t, math.Exp(-0.5), statistic.OverNormal(math.Cos), 1e-11, "what lies beyond 8 standard deviations")
}
