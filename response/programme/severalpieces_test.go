//go:build !race

package programme_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response/programme"
)

// TestSeveralPiecesInOneFileAreReported joins music and a voice, 3 s apart, in the direct recording.
// The other one holds both at another distance, or the second alone.
func TestSeveralPiecesInOneFileAreReported(t *testing.T) {
	long.Skip(t)
	const fs = 48000
	a, b := rig.Music(fs, 14, 3)[0], rig.Speech(fs, 12, 5)[0]
	through := func(x ...[]float64) []float64 {
		return device{filter: headphones(fs), gain: 0.5, start: 900, snr: 60}.through(slices.Concat(x...))
	}
	direct := device{gain: 1, snr: 75, seed: 5}.through(slices.Concat(a, make([]float64, 3*fs), b))
	for name, y := range map[string][]float64{"at another distance": through(a, make([]float64, 2*fs), b), "the second alone": through(b)} {
		_, err := programme.Align(channel("direct.wav", direct, fs), channel("through.wav", y, fs))
		if assert.ErrorIs(t, err, programme.ErrCut, name) {
			assert.Contains(t, err.Error(), "direct.wav holds 2 pieces, from 0.0 to 14.0 s, from 17.", name)
			assert.Contains(t, err.Error(), "number 2 from ", name)
		}
	}
	_, err := programme.Align(channel("direct.wav", direct, fs), channel("through.wav", through(a, make([]float64, 3*fs), b), fs))
	assert.NoError(t, err, "both at the same distance")
}
