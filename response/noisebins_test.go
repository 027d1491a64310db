package response

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// noiseOf returns noise with the given densities, from 0 Hz on.
func noiseOf(step float64, density ...float64) *Noise {
	return &Noise{sampleRate: int(2 * step * float64(len(density)-1)), step: step, densities: density}
}

// The mean of k² from m − j to m + j is m² + j(j + 1)/3.
func TestDensityIsTheMeanOfASixthOfAnOctaveOrFiveBins(t *testing.T) {
	squares := make([]float64, 501)
	for k := range squares {
		squares[k] = float64(k * k)
	}
	const step = 4 // Hz
	n := noiseOf(step, squares...)
	for bin, want := range map[float64]float64{
		100:   100*100 + 6*7/3.0,   // 94 to 106
		10:    10*10 + 2*3/3.0,     // five bins
		1:     (1 + 4 + 9) / 3.0,   // three of the five, since the lowest is the remainder of the mean
		0.5:   (1 + 4 + 9) / 3.0,   // its lower edge
		499.5: 485*485 + 14*15/3.0, // 471 to 499: the highest is a half one
	} {
		assert.InEpsilon(t, want, n.Density(bin*step), 1e-12, "bin %v; rounding", bin)
	}
	for _, bin := range []float64{0.49, 499.51, 0, -100, math.NaN(), math.Inf(1)} {
		assert.True(t, math.IsNaN(n.Density(bin*step)), "bin %v", bin)
	}
}

func TestPowerOfBinsByHand(t *testing.T) {
	n := noiseOf(10, 9, 1, 2, 3, 4, 5) // the bin at 10 Hz from 5 to 15 Hz, the last from 45 to 50 Hz
	for band, want := range map[Band]float64{
		{5, 15}:     10,
		{7.5, 17.5}: 7.5*1 + 2.5*2,
		{12.5, 40}:  2.5*1 + 10*2 + 10*3 + 5*4,
		{5, 50}:     10*(1+2+3+4) + 5*5,
	} {
		assert.InDelta(t, want, n.Power(band), 1e-12, "%v; rounding", band)
	}
	for _, band := range []Band{{7.5, 17}, {4.9, 40}, {5, 50.1}, {-30, 50}, {30, 20}, {math.NaN(), 40}, {5, math.NaN()}, {5, math.Inf(1)}} {
		assert.True(t, math.IsNaN(n.Power(band)), "%v", band)
	}
	one := n.Averaged(1)
	assert.Equal(t, n.densities, one.densities, "the mean of one is itself")
}

func TestShortestSilence(t *testing.T) {
	silence := white(512, 1e-3, 0, 3)
	_, err := NewNoise(silence[:511], 48000)
	require.ErrorIs(t, err, ErrSilence)
	assert.ErrorContains(t, err, "it is 511 samples long")
	n, err := NewNoise(silence, 48000)
	require.NoError(t, err)
	assert.InEpsilon(t, 1e-6, n.Power(Band{94, 24000}), 0.25, "σ²; segments of 128 values that overlap by a half: 6 %% standard error, times four")
	assert.InEpsilon(t, 48000.0/256, n.step, 1e-12, "at least three segments, half overlapping")

	silence[300] = math.Inf(-1)
	_, err = NewNoise(silence, 48000)
	require.ErrorIs(t, err, ErrSilence)
	assert.ErrorContains(t, err, "sample 301 is -Inf; record it again", "counted from 1")
}
