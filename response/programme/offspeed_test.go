//go:build !race

package programme_test

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"regexp"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response/programme"
)

// A speed that is off by more than clocks differ is named, with its figure, and not taken for
// something missing.
func TestASpeedThatIsOffIsNamed(t *testing.T) {
	race.Skip(t)
	const fs = 48000
	material := map[string][]float64{"voice": rig.Speech(fs, 14, 3)[0]}
	ppms := []float64{1e6/1.0884 - 1e6} // parts per million, by which the recorder's clock runs fast
	if long.Enabled() {
		material = map[string][]float64{"voice": rig.Speech(fs, 14, 3)[0], "music": rig.Music(fs, 14, 3)[0],
			"a tune that comes again": rig.Music(fs, 40, 3)[0], "silences": piece(fs, 14, 1)[0],
			"effects": piece(fs, 14, 2)[0], "a loop": piece(fs, 14, 3)[0]}
		ppms = []float64{-320, 1000, -2000, 400, 600, -800, -1000, 1500, 3000, -4000, 44100./44000*1e6 - 1e6,
			-5000, 10000, -20000, 44100./48000*1e6 - 1e6, 50000}
	}
	for i, name := range slices.Sorted(maps.Keys(material)) {
		x := material[name]
		for k, ppm := range ppms {
			if len(material) > 1 && (i+k)%3 != 0 {
				continue // a third of all pairs, each material and each speed among them
			}
			t.Run(fmt.Sprintf("%s, %.0f parts per million", name, ppm), func(t *testing.T) {
				y := device{filter: headphones(fs), gain: 0.5, start: 900, snr: 50, ppm: ppm}.through(x)
				_, err := programme.Align(channel("direct.wav", x, fs), channel("through.wav", y, fs))
				require.ErrorIs(t, err, programme.ErrRate)
				said := regexp.MustCompile(`direct.wav at ([\d.]+) times its speed`).FindStringSubmatch(err.Error())
				require.Len(t, said, 2, err.Error())
				speed, err := strconv.ParseFloat(said[1], 64)
				require.NoError(t, err)
				assert.InDelta(t, 1/(1+ppm*1e-6), speed, 6e-5, "five digits, and 20 parts per million")
			})
		}
	}
}

// A few samples that are missing in a voice, or are there twice, are named: 8 samples are a sixth
// of a millisecond.
func TestShortLossesInAVoiceAreNamed(t *testing.T) {
	long.Skip(t)
	const fs = 48000
	for seed := range uint64(12) {
		x := rig.Speech(fs, 12, seed)[0]
		random := rand.New(rand.NewPCG(seed, 1))
		n := (8 + random.IntN(93)) * (2*int(seed%2) - 1)
		y := device{filter: headphones(fs), gain: 0.5, start: 900, snr: 40 + 30*random.Float64(), ppm: 60 * random.Float64()}.through(x)
		at := int((0.2 + 0.6*random.Float64()) * float64(len(y)))
		_, err := programme.Align(channel("direct.wav", x, fs), channel("through.wav", y, fs))
		require.NoError(t, err, "whole, seed %d", seed)
		y = slices.Concat(y[:at], y[at+n:])
		_, err = programme.Align(channel("direct.wav", x, fs), channel("through.wav", y, fs))
		var cut *programme.CutError
		if assert.ErrorAs(t, err, &cut, "seed %d: %d samples at %.2f s", seed, n, float64(at)/fs) {
			assert.InDelta(t, -float64(n)/fs, cut.Jump, 2e-4, "s, seed %d; the drift of the clocks is not known exactly", seed)
		}
	}
}

// A recording in which thinning leaves nothing, as of a tone at half the sample rate, has no speed.
func TestNothingBelowTheSearchHasNoSpeed(t *testing.T) {
	long.Skip(t)
	const fs = 8000
	x, y := make([]float64, 5*fs), rig.Speech(fs, 5, 1)[0]
	for i := range x {
		x[i] = 0.25 - 0.5*float64(i%2)
	}
	for _, both := range [][2][]float64{{x, y}, {y, x}, {x, x}} {
		_, err := programme.Align(channel("direct.wav", both[0], fs), channel("through.wav", both[1], fs))
		assert.Error(t, err)
	}
}
