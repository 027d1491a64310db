package grid

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestUnion(t *testing.T) {
	a, b := []float64{5, 1, 3}, []float64{3, math.NaN(), 2, 7}
	assert.Equal(t, []float64{2, 3, 5}, Union(2, 5, a, b))
	assert.Equal(t, []float64{1, 2, 3, 5, 7}, Union(0, math.Inf(1), a, b))
	assert.Equal(t, []float64{5, 1, 3}, a, "left as it was")
	assert.Empty(t, Union(0, 0, []float64{0}), "an empty band")
	assert.Empty(t, Union(3, 2, a))
}
