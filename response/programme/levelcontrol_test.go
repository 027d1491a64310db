//go:build !race

package programme_test

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/programs"
	"example.com/earnest/response"
	"example.com/earnest/response/programme"
)

// throughSox returns x after effects of sox.
func throughSox(t *testing.T, x []float64, effects ...string) []float64 {
	programs.Need(t, "sox")
	in, out := filepath.Join(t.TempDir(), "in.f64"), filepath.Join(t.TempDir(), "out.f64")
	data, err := binary.Append(nil, binary.LittleEndian, x)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(in, data, 0o600))
	raw := []string{"-t", "f64", "-r", "48000", "-c", "1"}
	arguments := append(append(append(append([]string{"-D"}, raw...), in), raw...), out)
	said, err := exec.Command("sox", append(arguments, effects...)...).CombinedOutput()
	require.NoError(t, err, string(said))
	data, err = os.ReadFile(out)
	require.NoError(t, err)
	y := make([]float64, len(data)/8)
	_, err = binary.Decode(data, binary.LittleEndian, y)
	require.NoError(t, err)
	return y
}

// levelControls returns the findings about a gain that follows the level.
func levelControls(t *testing.T, direct, through []float64) (found []response.Finding) {
	d, y := channel("direct.wav", direct, 48000), channel("through.wav", through, 48000)
	a, err := programme.Align(d, y)
	require.NoError(t, err)
	for _, f := range programme.NewSpectrogram(d, y, a).Findings {
		if f.Kind == "level control" {
			found = append(found, f)
		}
	}
	return found
}

// TestACompressorInMusicIsNamed uses the compander of sox, 2 to 1 and 4 to 1 above a level 18 dB
// below the peak, and as an expander, in one recording.
func TestACompressorInMusicIsNamed(t *testing.T) {
	long.Skip(t)
	const fs = 48000
	x := rig.Music(fs, 12, 3)[0]
	y := device{filter: headphones(fs), gain: 0.5, start: 900, snr: 60}.through(x)
	direct := device{gain: 1, snr: 75, seed: 5}.through(x)
	assert.Empty(t, levelControls(t, direct, y), "sound")
	top := 0.0
	for _, v := range y {
		top = max(top, math.Abs(v))
	}
	for i := range y {
		y[i] *= 0.9 / top // so that sox's levels are re the peak
	}
	for points, sign := range map[string]float64{"-90,-90,-18,-18,0,-9": -1, "-90,-90,-18,-18,0,-13.5": -1, "-90,-135,-18,-27,0,0": 1} {
		found := levelControls(t, direct, throughSox(t, y, "compand", "0.01,0.2", points, "-3", "-18", "0"))
		if assert.Len(t, found, 1, points) {
			assert.Greater(t, sign*found[0].Figures["change"].Value, 0.4, points)
			assert.Equal(t, response.Warning, found[0].Severity)
		}
	}
}

// No gain follows the level in drawn voices and music with reverberation, noise and other clocks.
func TestNoGainFollowsTheLevelInSoundPieces(t *testing.T) {
	long.Skip(t)
	for seed := *firstPiece; seed < *firstPiece+2*uint64(*pieces); seed++ {
		random := rand.New(rand.NewPCG(seed, 78))
		h, _, r := rig.Demonstration()
		r.Seed, r.Drift, r.Room.Level = seed, 200*random.Float64()-100, -90+40*random.Float64()
		m := piece(48000, 6+10*random.Float64(), seed)
		switch seed % 4 {
		case 0:
			m = rig.Speech(48000, 6+10*random.Float64(), seed)
		case 1:
			m = rig.Music(48000, 6+10*random.Float64(), seed)
		}
		direct, through := channel("direct.wav", r.Direct(m)[0], 48000), channel("through.wav", r.Through(h, 0, m)[0], 48000)
		a, err := programme.Align(direct, through)
		if err != nil {
			continue
		}
		for _, f := range programme.NewSpectrogram(direct, through, a).Findings {
			assert.NotEqual(t, response.FindingKind("level control"), f.Kind, "seed %d: %v", seed, f)
		}
	}
}
