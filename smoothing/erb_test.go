package smoothing_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/smoothing"
)

// 24.7 (4.37 F + 1), Glasberg & Moore 1990, evaluated in Python.
func TestERBGlasbergMoore1990(t *testing.T) {
	for _, c := range []struct{ f, width float64 }{
		{0, 24.7},
		{100, 35.4939},
		{1000, 132.639},
		{4000, 456.456},
		{10000, 1104.09},
	} {
		assert.InDelta(t, c.width, smoothing.ERBWidth(c.f), 5e-3, "%v Hz", c.f) // last digit given
	}
}

func TestERBNotKnown(t *testing.T) {
	for _, v := range []float64{-1e-9, -1000, math.NaN(), math.Inf(-1)} {
		assert.True(t, math.IsNaN(smoothing.ERBWidth(v)))
	}
}

// A step in power shows both edges of the band: at the centre the part above the step is
// ln(high/f)/ln(high/low) = 1/2, and outside low … high it is 0 or 1. At 1 kHz: high = 66.32 +
// √(1000² + 66.32²) = 1068.517, low = 935.877 Hz.
func TestNewERBWidthAtOneKilohertz(t *testing.T) {
	frequency := logGrid(500, 2000, 20001)
	for _, c := range []struct{ step, want float64 }{
		{930, 1}, {935.8, 1}, {936.2, 0.9974}, {1000, 0.5}, {1068.2, 0.0022}, {1068.7, 0}, {1080, 0},
	} {
		power := make([]float64, len(frequency))
		for i, f := range frequency {
			if f >= c.step {
				power[i] = 1
			}
		}
		got := erb(t, frequency, []float64{1000}, 1).Mean(nil, power)
		assert.InDelta(t, c.want, got[0], 5.5e-4, "step at %v Hz", c.step) // one grid interval: 6.9e-5/0.1325
	}
}
