//go:build !race

package rig

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/stat"
)

// octaves returns the power in dB in the octaves from 31.25 Hz on.
func octaves(x []float64) []float64 {
	bins := fourier.NewFFT(len(x)).Coefficients(nil, x)
	power := make([]float64, 9)
	for k, v := range bins {
		f := float64(k) * fs / float64(len(x))
		if band := int(math.Floor(math.Log2(f / 31.25))); f > 0 && band >= 0 && band < len(power) {
			power[band] += real(v)*real(v) + imag(v)*imag(v)
		}
	}
	for i, p := range power {
		power[i] = 10 * math.Log10(p)
	}
	return power
}

func TestMusicIsPlausible(t *testing.T) {
	for seed := range uint64(4) {
		x := Music(fs, 5, seed)
		assert.Len(t, x, 2)
		assert.Len(t, x[Left], 5*fs)
		assert.InDelta(t, math.Pow(10, -6./20), max(loudest(x[Left]), loudest(x[Right])), 1e-12, "rounding")
		levels := octaves(x[Left])
		t.Logf("seed %d, octaves from 31 Hz: %.0f, correlation %.2f", seed, levels, stat.Correlation(x[Left], x[Right], nil))
		top := levels[0]
		for _, v := range levels {
			top = max(top, v)
		}
		for i, v := range levels {
			assert.Greater(t, v, top-45, "octave from %.0f Hz is there to be compared", 31.25*math.Exp2(float64(i)))
		}
		assert.Less(t, levels[8], top-10, "treble is weaker than bass")
		c := stat.Correlation(x[Left], x[Right], nil)
		assert.True(t, c > 0.2 && c < 0.97, "stereo, correlation %v", c)
	}
	assert.False(t, same(Music(fs, 1, 1), Music(fs, 1, 2)), "another tune")
	assert.Len(t, Music(8000, 1, 1)[Left], 8000)
	assert.Panics(t, func() { Music(4000, 1, 1) })
	assert.Panics(t, func() { Music(fs, 0, 1) })
}

func TestSpeechIsPlausible(t *testing.T) {
	for seed := range uint64(4) {
		x := Speech(fs, 5, seed)
		assert.True(t, slices.Equal(x[Left], x[Right]), "the voice stands in the middle")
		assert.InDelta(t, math.Pow(10, -6./20), loudest(x[Left]), 1e-12, "rounding")
		levels := octaves(x[Left])
		t.Logf("seed %d, octaves from 31 Hz: %.0f, pauses %.2f", seed, levels, pauses(x[Left]))
		strongest := max(levels[2], levels[3], levels[4])
		assert.Greater(t, strongest, levels[0]+15, "a voice has no deep bass")
		assert.Greater(t, strongest, levels[7]+8, "the strongest octave lies between 125 Hz and 1 kHz")
		assert.Greater(t, levels[7], strongest-45, "and there are hisses")
		share := pauses(x[Left])
		assert.True(t, share > 0.05 && share < 0.5, "pauses take %v", share)
	}
	assert.False(t, same(Speech(fs, 1, 1), Speech(fs, 1, 2)), "other words")
	assert.Len(t, Speech(8000, 1, 1)[Left], 8000)
	assert.Panics(t, func() { Speech(fs, math.NaN(), 1) })
}

// pauses returns the share of 50 ms stretches that are more than 50 dB below the peak.
func pauses(x []float64) float64 {
	const n = fs / 20
	var quiet, all float64
	top := loudest(x)
	for i := 0; i+n <= len(x); i += n {
		all++
		if rms(x[i:i+n]) < top*math.Pow(10, -50./20) {
			quiet++
		}
	}
	return quiet / all
}
