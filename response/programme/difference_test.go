//go:build !race

package programme_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/response/programme"
)

// The difference by third octave: a gain of ½ is 20 log10 ½ = −6.02 dB in every band in which the
// material has energy. In the others the difference is not known.
func TestDifferenceByBand(t *testing.T) {
	const fs = 16000
	x := pink(8*fs, fs, 3)
	y := device{gain: 0.5, start: 100}.through(x)
	c := compare(t, x, withNoise(y, 50, 1), fs, programme.Config{})
	known := 0
	for _, b := range c.Bands(3) {
		if !b.Known {
			assert.True(t, math.IsNaN(b.Difference), "%.0f Hz", b.Centre)
			continue
		}
		known++
		assert.InEpsilon(t, b.Nominal, b.Centre, 0.02, "ISO 266 rounds a midband by up to 1.6 %")
		assert.InDelta(t, 20*math.Log10(0.5), b.Difference, max(0.02, 4*b.Uncertainty), "%.0f Hz; four of its uncertainties", b.Centre)
		assert.Less(t, b.Uncertainty, 0.2, "%.0f Hz; noise 50 dB below", b.Centre)
	}
	assert.Greater(t, known, 15, "most of 20 Hz to 8 kHz")
}
