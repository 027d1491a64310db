//go:build !race

package programme_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/response/programme"
)

// tones returns the findings about steady tones.
func tones(c *programme.Comparison) (found []response.Finding) {
	for _, f := range c.Findings {
		if f.Kind == programme.SteadyTone {
			found = append(found, f)
		}
	}
	return found
}

// whistling returns x with a tone of an rms level in dBFS.
func whistling(x []float64, fs, frequency, level, phase float64) []float64 {
	out := slices.Clone(x)
	for i := range out {
		out[i] += math.Sqrt2 * math.Pow(10, level/20) * math.Sin(2*math.Pi*frequency*float64(i)/fs+phase)
	}
	return out
}

// A whistle as loud as the material in its third octave, or louder, would move the response there
// by 10 lg 2 dB or more. In one recording or in both, it is named with its frequency and level, and
// no third octave moves: each result equals that of the same recordings without the tone.
func TestASteadyToneIsLeftOut(t *testing.T) {
	long.Skip(t)
	const fs = 48000
	random := rand.New(rand.NewPCG(1, 12))
	for name, x := range map[string][]float64{"voice": rig.Speech(fs, 12, 3)[0], "music": rig.Music(fs, 12, 3)[0]} {
		y := device{filter: headphones(fs), gain: 0.5, start: 900, snr: 60}.through(x)
		direct := device{gain: 1, snr: 75, seed: 5}.through(x)
		plain := compare(t, direct, y, fs, programme.Config{})
		require.Empty(t, tones(plain), name)
		for _, f := range []float64{523, 6100, 1234, 3137} { // Hz
			i := slices.IndexFunc(plain.Bands(3), func(b programme.BandLevel) bool { return f > b.Low && f < b.High })
			band, above := plain.Bands(3)[i], 20*random.Float64()
			for where, both := range map[string][2]bool{"direct": {true, false}, "through": {false, true}, "both": {true, true}} {
				t.Run(fmt.Sprintf("%s, %s, %.0f Hz, %.0f dB", name, where, f, above), func(t *testing.T) {
					a, b := direct, y
					if both[0] {
						a = whistling(direct, fs, f, band.Direct+above, 1)
					}
					if both[1] {
						b = whistling(y, fs, f, band.Through+above-9, 2)
					}
					got := compare(t, a, b, fs, programme.Config{})
					moved, worst := 0.0, 0.0
					for i, b := range got.Bands(3) {
						if d := math.Abs(b.Difference - plain.Bands(3)[i].Difference); d > moved {
							moved, worst = d, b.Nominal
						}
					}
					assert.Less(t, moved, 0.4, "dB at %.0f Hz", worst)
					found := tones(got)
					if !both[0] && len(found) == 0 {
						return // it moves nothing
					}
					require.NotEmpty(t, found, "moved by %.2f dB", moved)
					assert.InEpsilon(t, f, found[0].Figures["frequency"].Value, 0.005, "the bins are 12 Hz wide")
					if both[0] {
						assert.Equal(t, "direct.wav", found[0].Recording)
						assert.InDelta(t, band.Direct+above-level(a), found[0].Figures["level"].Value, 1, "dB; the material adds to it")
					}
				})
			}
		}
	}
}

// A whistle that wanders by 15 Hz up and down is left out too.
func TestAWanderingToneIsLeftOut(t *testing.T) {
	long.Skip(t)
	const fs = 48000
	x := rig.Speech(fs, 12, 3)[0]
	y := device{filter: headphones(fs), gain: 0.5, start: 900, snr: 60}.through(x)
	direct := device{gain: 1, snr: 75, seed: 5}.through(x)
	plain := compare(t, direct, y, fs, programme.Config{})
	i := slices.IndexFunc(plain.Bands(3), func(b programme.BandLevel) bool { return b.Nominal == 3150 })
	amplitude := math.Sqrt2 * math.Pow(10, (plain.Bands(3)[i].Direct+6)/20)
	for k := range direct {
		s := float64(k) / fs
		direct[k] += amplitude * math.Sin(2*math.Pi*3000*s+15/0.3*math.Sin(2*math.Pi*0.3*s))
	}
	got := compare(t, direct, y, fs, programme.Config{})
	for i, b := range got.Bands(3) {
		if !math.IsNaN(b.Difference) {
			assert.InDelta(t, plain.Bands(3)[i].Difference, b.Difference, 0.4, "dB at %.0f Hz", b.Nominal)
		}
	}
	if found := tones(got); assert.NotEmpty(t, found) {
		assert.InDelta(t, 3000, found[0].Figures["frequency"].Value, 30, "Hz")
	}
}

// level returns the level in dBFS rms.
func level(x []float64) float64 {
	var power float64
	for _, v := range x {
		power += v * v / float64(len(x))
	}
	return 10 * math.Log10(power)
}

// Held notes of an organ, which stop, and a drone that lasts are music.
func TestHeldNotesAreNoSteadyTones(t *testing.T) {
	long.Skip(t)
	const fs = 48000
	for _, seconds := range []float64{1, 3, 12} {
		x := rig.Music(fs, 12, 4)[0]
		random := rand.New(rand.NewPCG(uint64(seconds), 13))
		for at := 0; at < len(x); {
			n := min(len(x)-at, int(seconds*fs))
			f := 220 * math.Exp2(float64(random.IntN(24))/12)
			for h := 1.; h < 9; h++ {
				for i := range n {
					x[at+i] += 0.05 / h * math.Sin(2*math.Pi*f*h*float64(i)/fs) * min(1, float64(min(i, n-i))/500)
				}
			}
			at += n
		}
		got := compare(t, device{gain: 1, snr: 75, seed: 5}.through(x), device{filter: headphones(fs), gain: 0.5, start: 900, snr: 55}.through(x), fs, programme.Config{})
		assert.Empty(t, tones(got), "notes of %.0f s", seconds)
	}
}

// No steady tone is found in drawn voices and music, with organ notes and noise among them.
func TestSoundPiecesHoldNoSteadyTone(t *testing.T) {
	long.Skip(t)
	for seed := *firstPiece; seed < *firstPiece+uint64(*pieces); seed++ {
		random := rand.New(rand.NewPCG(seed, 78))
		h, _, r := rig.Demonstration()
		r.Seed, r.Drift, r.Room.Level = seed, 200*random.Float64()-100, -90+40*random.Float64()
		m := piece(48000, 6+10*random.Float64(), seed)
		if seed%4 == 0 {
			m = rig.Speech(48000, 6+10*random.Float64(), seed)
		}
		direct := r.Direct(m)[0]
		through := r.Through(h, 0, m)[0]
		compared, err := programme.Compare(channel("direct.wav", direct, 48000), channel("through.wav", through, 48000), programme.Config{})
		if err == nil {
			assert.Empty(t, tones(compared), "seed %d", seed)
		}
	}
}
