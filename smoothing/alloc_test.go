//go:build !race

// The race detector drops pooled memory at random.

package smoothing_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestNothingAllocatedWithDst(t *testing.T) {
	frequency := bins(500, 40)
	p := octave(t, frequency, frequency, 3)
	y, dst := make([]float64, 500), make([]float64, 500)
	h, out := make([]complex128, 500), make([]complex128, 500)
	y[100] = math.NaN()
	assert.Less(t, testing.AllocsPerRun(200, func() { p.Mean(dst, y); p.Complex(out, h) }), 1.0)
}
