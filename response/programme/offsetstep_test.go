//go:build !race

package programme_test

import (
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/response/programme"
)

// offsets returns the findings about DC offsets.
func offsets(c *programme.Comparison) (found []response.Finding) {
	for _, f := range c.Findings {
		if f.Kind == "DC offset" {
			found = append(found, f)
		}
	}
	return found
}

// TestAJumpOfTheOffsetIsLeftOut adds a step to the second half of a recording. Each third octave
// that is known then stays at the level of the filter, by its closed form.
func TestAJumpOfTheOffsetIsLeftOut(t *testing.T) {
	race.Skip(t)
	const fs = 48000
	filter := headphones(fs)
	materials, heights := map[string][]float64{"voice": rig.Speech(fs, 16, 3)[0]}, []float64{-0.1}
	if long.Enabled() {
		materials["music"], heights = rig.Music(fs, 16, 3)[0], []float64{0.01, 0.05, -0.1}
	}
	for name, x := range materials {
		for _, height := range heights {
			for where, both := range map[string][2]bool{"direct": {true, false}, "through": {false, true}, "both": {true, true}} {
				recordings := [2][]float64{device{gain: 1, snr: 75, seed: 5}.through(x), device{filter: filter, gain: 0.5, start: 900, snr: 60}.through(x)}
				for i, y := range recordings {
					for k := range y {
						if both[i] && k > 7*fs+1234 {
							y[k] += height
						}
					}
				}
				got := compare(t, recordings[0], recordings[1], fs, programme.Config{})
				for _, b := range got.Bands(3) {
					if !b.Known {
						continue
					}
					var power float64
					for i := range 20 {
						h := filter.Response(b.Low*math.Pow(b.High/b.Low, (float64(i)+0.5)/20), fs)
						power += 0.25 * real(h*cmplx.Conj(h)) / 20
					}
					assert.InDelta(t, 10*math.Log10(power), b.Difference, 0.4+3*b.Uncertainty,
						"%s, %v in %s: dB at %.0f Hz; the material is not white across a band", name, height, where, b.Nominal)
				}
				found := offsets(got)
				if where == "through" && math.Abs(height) < 0.05 {
					continue // it is noise there, and moves nothing
				}
				require.NotEmpty(t, found, "%s, %v in %s", name, height, where)
				assert.InDelta(t, 7, found[0].Time, 0.2, "s; frames are 0.05 s long")
				assert.InDelta(t, height, found[0].Figures["change"].Value, 0.1*math.Abs(height)+0.001)
			}
		}
	}
}

// TestAJumpThatHidesTheMaterialIsNamed adds a step of 30 % of full scale to a recording that peaks
// 20 dB below it, so that the step is most of the power. The comparison may fail, but not without
// the cause.
func TestAJumpThatHidesTheMaterialIsNamed(t *testing.T) {
	const fs = 48000
	x := rig.Speech(fs, 12, 3)[0]
	direct := device{gain: 1, snr: 75, seed: 5}.through(x)
	y := device{filter: headphones(fs), gain: 0.5, start: 900, snr: 60}.through(x)
	top := 0.0
	for _, v := range y {
		top = max(top, math.Abs(v))
	}
	for i := range y {
		if y[i] *= 0.1 / top; i > 5*fs {
			y[i] += 0.3
		}
	}
	_, err := programme.Compare(channel("direct.wav", direct, fs), channel("through.wav", y, fs), programme.Config{})
	require.ErrorIs(t, err, programme.ErrDifferent)
	assert.Contains(t, err.Error(), "the DC offset of through.wav jumps by 30 % of full scale at 5.0 s")
}

// No jump is found in sound pieces: music with silences, bursts in the bass, voices.
func TestSoundPiecesHoldNoJumpOfTheOffset(t *testing.T) {
	long.Skip(t)
	for seed := *firstPiece; seed < *firstPiece+3*uint64(*pieces); seed++ {
		m := piece(48000, 12, seed)
		if seed%4 == 0 {
			m = rig.Speech(48000, 12, seed)
		}
		x := slices.Clone(m[0])
		h, _, r := rig.Demonstration()
		r.Seed = seed
		compared, err := programme.Compare(channel("direct.wav", x, 48000), channel("through.wav", r.Through(h, 0, m)[0], 48000), programme.Config{})
		if err == nil {
			assert.Empty(t, offsets(compared), "seed %d", seed)
		}
	}
}
