package smoothing_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/smoothing"
)

// IEC 61672-1, table of A-weighting at nominal thirds of an octave, in dB; the
// octaves were checked, the rest is from memory.
func TestAWeightingIEC61672(t *testing.T) {
	want := []float64{
		-70.4, -63.4, -56.7, -50.5, -44.7, -39.4, -34.6, -30.2, -26.2, -22.5, // 10 … 80 Hz
		-19.1, -16.1, -13.4, -10.9, -8.6, -6.6, -4.8, -3.2, -1.9, -0.8, // 100 … 800 Hz
		0, 0.6, 1.0, 1.2, 1.3, 1.2, 1.0, 0.5, -0.1, -1.1, // 1 … 8 kHz
		-2.5, -4.3, -6.6, -9.3, // 10 … 20 kHz
	}
	for i, b := range bands(t, 3, 10, 20000) {
		assert.InDelta(t, want[i], smoothing.AWeighting(b.Centre), 0.05, "%v Hz", b.Nominal) // the table is rounded to 0.1 dB
	}
}

// Far below all its corner frequencies R rises as f⁴, far above them it falls as
// 1/f²: 80 and −40 dB per decade.
func TestAWeightingAsymptotes(t *testing.T) {
	a := smoothing.AWeighting
	assert.InDelta(t, 80, a(1e-3)-a(1e-4), 1e-6) // dB; (1e-3/20.6)² in each factor
	assert.InDelta(t, -40, a(1e9)-a(1e8), 1e-6)  // dB; (12194/1e8)²
	assert.Equal(t, 0.0, a(1000))
	// R(1000) is −2.000 dB (the standard's A1000, from memory), which leaves R at low frequencies.
	assert.InDelta(t, 20*math.Log10(1e-16/(20.6*20.6*107.7*737.9))+2.000, a(1e-4), 1e-3) // last digit of A1000
}

func TestAWeightingEnds(t *testing.T) {
	a := smoothing.AWeighting
	assert.True(t, math.IsInf(a(0), -1), "no gain at 0 Hz")
	assert.True(t, math.IsInf(a(math.Inf(1)), -1))
	assert.False(t, math.IsNaN(a(1e300)))
	assert.True(t, math.IsNaN(a(-1)))
	assert.True(t, math.IsNaN(a(math.NaN())))
}
