package report

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/response"
	"example.com/earnest/smoothing"
)

// A decay of 60 dB in 6 ms, in the third octave at 8 kHz, whose filter has an energy to come of
// −3.01 dB at the peak and −30 dB after 0.23 ms (the complementary error function from a table:
// erfc(1.55) = 0.0284).
func TestDecayedAboveTheFilter(t *testing.T) {
	d := response.Decay{Band: smoothing.Band{Low: 7080, Centre: 7943, High: 8913}, Start: 0, Step: 0.001, Level: []float64{0, -10, -20, -30, -40, -50, -60}}
	assert.InDelta(t, -15, decayed(d, 0.0015), 1e-9, "halfway between two levels")
	a := math.Pi * (8913 - 7080) / math.Sqrt(math.Ln2)
	assert.InDelta(t, 10*math.Log10(0.0284/2), 10*math.Log10(math.Erfc(a*(1.55/a))/2), 0.01)
	assert.True(t, math.IsNaN(decayed(d, 0.007)), "after the last level")
	assert.True(t, math.IsNaN(decayed(d, -0.001)), "before the first")
	d.Level = []float64{0, -90, -100}
	assert.True(t, math.IsNaN(decayed(d, 0.0001)), "the filter itself rings with more")
	assert.True(t, math.IsNaN(decayed(response.Decay{Band: d.Band}, 0.001)), "nothing is known of the band")
}
