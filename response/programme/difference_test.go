package programme_test

import (
	"math"
	"testing"

	"example.com/earnest/response/programme"

	"github.com/stretchr/testify/assert"
)

// The difference as a curve: a half is 20 log10 ½ = −6.02 dB wherever there is
// anything in the material, a band is a point, and what is not known stays so.
func TestDifferenceAsACurve(t *testing.T) {
	const fs = 16000
	x := pink(8*fs, fs, 3)
	y := device{gain: 0.5, start: 100}.through(x)
	c := compare(t, x, withNoise(y, 50, 1), fs, programme.Config{})
	d := c.Difference()
	assert.Len(t, d.Uncertainty, len(d.Level))
	assert.Equal(t, "the direct recording", d.Reference)
	bands, known := c.Bands(), 0
	assert.Len(t, d.Level, len(bands))
	for i, b := range bands {
		if !b.Known {
			assert.True(t, math.IsNaN(d.Level[i]), "%.0f Hz", d.Frequency[i])
			continue
		}
		known++
		assert.InEpsilon(t, b.Nominal, d.Frequency[i], 0.02, "ISO 266 rounds a midband by up to 1.6 %")
		assert.InDelta(t, 20*math.Log10(0.5), d.Level[i], max(0.02, 4*d.Uncertainty[i]), "%.0f Hz; four of its uncertainties", d.Frequency[i])
		assert.Less(t, d.Uncertainty[i], 0.2, "%.0f Hz; noise 50 dB below", d.Frequency[i])
	}
	assert.Greater(t, known, 15, "most of 20 Hz to 8 kHz")
}
