package interpolate

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// I0(1) and I0(10) as tabulated (Abramowitz & Stegun, table 9.8, from memory).
func TestBesselOfOrderZero(t *testing.T) {
	assert.InDelta(t, 1.2660658778, bessel0(1), 1e-10, "digits of the table")
	assert.InDelta(t, 2815.716628466, bessel0(10), 1e-8, "digits of the table")
}

func TestKernel(t *testing.T) {
	assert.Equal(t, 1.0, Kernel(0, 32, 10))
	assert.Zero(t, Kernel(32, 32, 10))
	for n := 1.0; n < 32; n++ {
		assert.InDelta(t, 0, Kernel(n, 32, 10), 1e-16, "other samples do not count at a sample; rounding of sin(πn)")
	}
	// A sine of a quarter of the sample rate, half-way between two samples.
	var v float64
	for i := -32; i <= 32; i++ {
		v += math.Sin(math.Pi/2*float64(i)+0.3) * Kernel(0.5-float64(i), 32, 10)
	}
	assert.InDelta(t, math.Sin(math.Pi/4+0.3), v, 1e-5, "a window of β = 10 leaves −100 dB")
}

// Another definition of I0: the mean of exp(x cos θ) over a turn (DLMF 10.32.1).
func TestBesselI0(t *testing.T) {
	for _, x := range []float64{0, 0.5, 1, 5, 12.27} {
		var want float64
		for k := range 200 {
			want += math.Exp(x*math.Cos(2*math.Pi*float64(k)/200)) / 200
		}
		assert.InEpsilon(t, want, bessel0(x), 1e-13, "rounding of 200 terms")
	}
}
