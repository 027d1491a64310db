package decibel

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// By definition (ISO 80000-3:2006, from memory): a ratio of amplitudes of ten is 20 dB, of powers
// 10 dB.
func TestLevels(t *testing.T) {
	for _, v := range []struct{ ratio, amplitude float64 }{{10, 20}, {1, 0}, {0.001, -60}, {2, 6.020599913279624}} {
		assert.InDelta(t, v.amplitude, OfAmplitude(v.ratio), 1e-12, "rounding")
		assert.InDelta(t, v.amplitude/2, OfPower(v.ratio), 1e-12, "rounding")
		assert.InEpsilon(t, v.ratio, Amplitude(v.amplitude), 1e-14, "rounding")
		assert.InEpsilon(t, v.ratio, Power(v.amplitude/2), 1e-14, "rounding")
	}
	// d(20 log10 a)/d(ln a), by a difference.
	assert.InDelta(t, PerNeper, (OfAmplitude(1+1e-6)-OfAmplitude(1-1e-6))/2e-6, 1e-8, "the third derivative times 1e-12")
}

func TestZeroHasNoLevel(t *testing.T) {
	for _, v := range []float64{0, -1, math.NaN()} {
		assert.True(t, math.IsNaN(OfAmplitude(v)), v)
		assert.True(t, math.IsNaN(OfPower(v)), v)
	}
}
