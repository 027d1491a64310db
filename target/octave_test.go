package target_test

import (
	"math"
	"testing"

	"example.com/earnest/target"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// In the octave band about fm, G = 10^(3/10) wide, the line s·x has the mean s·x(fm) and
// about it the rms s·log2(G)/√12.
func TestOctaveBandsIEC61260(t *testing.T) {
	const slope = 1.25
	line := curveOn(t, []float64{10, 24000}, func(x float64) float64 { return slope * x })
	d := compare(t, line, target.Flat(), target.Config{Align: target.Alignment{None: true}})
	width := math.Log2(math.Pow(10, 0.3))
	nominal := []float64{16, 31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000, 16000}
	require.Len(t, d.Octaves, len(nominal))
	for i, o := range d.Octaves {
		assert.Equal(t, nominal[i], o.Nominal)
		if i == 0 || i == len(nominal)-1 {
			continue
		}
		middle := float64(i-6) * width // octaves from 1 kHz
		assert.InDelta(t, slope*middle, o.Mean.Value, 1e-9)
		assert.InDelta(t, math.Hypot(slope*middle, slope*width/math.Sqrt(12)), o.RMS.Value, 1e-9)
		assert.InDelta(t, 1, o.Coverage, 1e-9)
		assert.False(t, partial(o))
	}
	first, last := d.Octaves[0], d.Octaves[10]
	assert.InDelta(t, math.Log2(22.387211385683/20)/width, first.Coverage, 1e-9, "20 Hz to 10^(-1.65) kHz")
	assert.InDelta(t, math.Log2(20000/11220.184543)/width, last.Coverage, 1e-9, "10^1.05 kHz to 20 kHz")
	assert.True(t, partial(first))
	assert.True(t, partial(last))
	assert.Equal(t, "16 kHz (11.2 kHz–22.4 kHz): mean +4.88 dB, rms 4.89 dB (84 % of the band)", last.String())

	var square, octaves float64
	for _, o := range d.Octaves {
		square += o.RMS.Value * o.RMS.Value * o.Coverage
		octaves += o.Coverage
	}
	assert.InDelta(t, d.RMS.Value, math.Sqrt(square/octaves), 1e-9, "the bands make up the whole")
}

// partial reports whether the figures are for a part of the band only.
func partial(o target.OctaveDeviation) bool { return o.Coverage > 0 && o.Coverage < 1-1e-9 }
