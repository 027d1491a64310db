package interpolate

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestVertex(t *testing.T) {
	for _, at := range []float64{-0.4, 0, 0.25} {
		y := func(x float64) float64 { return 7 - 3*(x-at)*(x-at) }
		assert.InDelta(t, at, Vertex(y(-1), y(0), y(1)), 1e-12, "rounding")
	}
	assert.Equal(t, 0.5, Vertex(0, 1, 1.9), "held to half a sample")
	assert.Zero(t, Vertex(1, 1, 1))
	assert.Zero(t, Vertex(2, 1, 3), "a minimum")
}
