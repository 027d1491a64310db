package taper

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestRise(t *testing.T) {
	assert.Zero(t, Rise(-0.1))
	assert.Zero(t, Rise(0))
	assert.InDelta(t, 0.5, Rise(0.5), 1e-15, "rounding")
	assert.InDelta(t, 0.25, Rise(1.0/3), 1e-15, "cos 60° is a half")
	assert.Equal(t, 1.0, Rise(1))
	assert.Equal(t, 1.0, Rise(7))
	assert.True(t, math.IsNaN(Rise(math.NaN())))
}

// Harris, Proc. IEEE 66(1), 1978: the mean of a Hann window is 1/2, its mean square 3/8.
func TestHann(t *testing.T) {
	w := Hann(16)
	var mean, square float64
	for i, v := range w {
		mean += v / 16
		square += v * v / 16
		assert.InDelta(t, v, w[15-i], 1e-15, "even")
		assert.InDelta(t, 1, v+w[(i+8)%16], 1e-15, "halves that overlap add up")
	}
	assert.InDelta(t, 0.5, mean, 1e-15, "rounding")
	assert.InDelta(t, 3./8, square, 1e-15, "rounding")
}
