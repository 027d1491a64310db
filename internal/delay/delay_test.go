package delay

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/assert"
)

// delayed returns the cross spectrum of a flat band and the same delayed by tau samples.
func delayed(n int, tau float64) []complex128 {
	cross := make([]complex128, n/2+1)
	for k := 8; k < n/4; k++ {
		cross[k] = cmplx.Rect(1, -2*math.Pi*float64(k)*tau/float64(n))
	}
	return cross
}

func TestPeakOfAKnownDelay(t *testing.T) {
	for _, tau := range []float64{-3.2, 0, 0.49, 17.123} {
		lag, curvature := Peak(delayed(256, tau), 256, math.Round(tau))
		assert.InDelta(t, tau, lag, 1e-9, "Newton's method converges quadratically from 1e-6")
		var want float64
		for k := 8; k < 64; k++ {
			want -= math.Pow(2*math.Pi*float64(k)/256, 2)
		}
		assert.InEpsilon(t, want, curvature, 1e-9, "−Σω² where all bins are in phase")
	}
}

func TestNoPeak(t *testing.T) {
	lag, curvature := Peak(make([]complex128, 129), 256, 5)
	assert.Equal(t, 5.0, lag)
	assert.Zero(t, curvature)
}

func TestDerivatives(t *testing.T) {
	cross := delayed(256, 2.5)
	const h = 1e-4
	below, _, _ := At(cross, 256, 1.7-h)
	height, slope, curvature := At(cross, 256, 1.7)
	above, _, _ := At(cross, 256, 1.7+h)
	assert.InDelta(t, (above-below)/(2*h), slope, 1e-5, "the third derivative, below 60, times h²/6")
	assert.InDelta(t, (above-2*height+below)/(h*h), curvature, 1e-4, "rounding of 1e-14 over h²")
}
