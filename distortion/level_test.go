package distortion_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/sweep"
)

// cubic is the c of x − c x³, which compresses: for a sine of amplitude A the fundamental is A (1 −
// 3/4 c A²) and the third harmonic c A³/4 (NIST DLMF §4.21).
const cubic = 0.2

func levelSeries(t *testing.T, silence []float64, levels ...float64) *distortion.LevelSeries {
	t.Helper()
	var sets []*distortion.HarmonicSet
	for _, level := range levels {
		s := newSweep(t, sweep.Config{Stop: 2500, SampleRate: 16000, Duration: 2 * time.Second, Level: level})
		recording := withHarmonics(s)
		for i, x := range recording {
			recording[i] = x - cubic*x*x*x
		}
		sets = append(sets, harmonics(t, s, recording, distortion.Config{Silence: silence}))
	}
	series, err := distortion.NewLevelSeries(sets...)
	require.NoError(t, err)
	return series
}

// ofCubic returns the level in dB of the third harmonic and the gain in dB of the fundamental at an
// amplitude.
func ofCubic(a float64) (third, fundamental float64) {
	linear := 1 - 0.75*cubic*a*a
	return 20 * math.Log10(cubic*a*a/4/linear), 20 * math.Log10(linear)
}

func TestDistortionAgainstLevel(t *testing.T) {
	t.Parallel()
	series := levelSeries(t, quiet(16000), -6, -24, 0, -12, -18)
	_, lowest := ofCubic(math.Pow(10, -24./20))
	points := series.At(1000)
	require.Len(t, points, 5)
	for i, played := range []float64{-24, -18, -12, -6, 0} {
		p := points[i]
		third, fundamental := ofCubic(math.Pow(10, played/20))
		assert.Equal(t, played, p.Played)
		assert.InDelta(t, played+fundamental, p.Output, 0.01) // exact except for the window
		assert.InDelta(t, fundamental-lowest, p.Compression.Value, 0.01)
		assert.InDelta(t, third, 20*math.Log10(p.THD.Value/100), 0.05)
		assert.InDelta(t, third, p.Orders[1].AsRead, 0.05)
		assert.Equal(t, 3, highest(p.THD))
		assert.Less(t, p.Compression.Uncertainty, 1e-4, "dB; hardly any noise")
	}
	for _, played := range []float64{-24, -18, -12, -6, 0} {
		_, fundamental := ofCubic(math.Pow(10, played/20))
		assert.InDelta(t, fundamental-lowest, series.Compression(played).At(300), 0.01)
	}
	assert.Zero(t, series.Compression(-24).UncertaintyAt(300), "0 dB by definition")
	assert.Equal(t, "linear from -24 dBFS", series.Compression(0).Reference)
	assert.Empty(t, series.Compression(-3).Level, "not played")
	assert.Empty(t, series.At(2480)[0].THD.Contains, "too near the end of the sweep")
	assert.Empty(t, series.At(3000)[0].THD.Contains, "not played")
}

func TestHighestLevelUnderAWantedDistortion(t *testing.T) {
	t.Parallel()
	series := levelSeries(t, quiet(16000), -24, -21, -18, -15, -12, -9, -6, -3, 0)
	for _, percent := range []float64{0.1, 0.3, 1, 3} {
		// c a²/4 / (1 − 3/4 c a²) = k: a² = k / (c/4 + 3/4 c k)
		k := percent / 100
		a := math.Sqrt(k / (cubic/4 + 0.75*cubic*k))
		_, fundamental := ofCubic(a)
		played, output, _, err := series.MaxLevel(1000, percent)
		require.NoError(t, err)
		assert.InDelta(t, 20*math.Log10(a), played, 0.05, "%g %%", percent) // dB; straight between levels
		assert.InDelta(t, 20*math.Log10(a)+fundamental, output, 0.05, "%g %%", percent)
	}
	played, _, _, err := series.MaxLevel(1000, 10)
	require.ErrorIs(t, err, distortion.ErrNotReached)
	assert.Equal(t, 0.0, played, "it holds up to there at least")
	played, _, _, err = series.MaxLevel(1000, 0.01)
	require.ErrorIs(t, err, distortion.ErrExceeded)
	assert.Equal(t, -24.0, played)
	played, _, _, err = series.MaxLevel(21, 1)
	assert.ErrorContains(t, err, "not known")
	assert.True(t, math.IsNaN(played))
	for _, percent := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		_, _, _, err = series.MaxLevel(1000, percent)
		assert.ErrorContains(t, err, "above zero")
	}
}

func TestLevelsBelowTheFloorCountWithTheirBound(t *testing.T) {
	t.Parallel()
	silence := make([]float64, 16000)
	addNoise(silence, 1, -60)
	series := levelSeries(t, silence, -30, -20, -10, 0)
	points := series.At(1000)
	require.True(t, points[0].THD.Below, "%v", points[0].THD)
	assert.False(t, points[3].THD.Below)
	assert.Greater(t, points[1].Compression.Uncertainty, points[3].Compression.Uncertainty)
	assert.Zero(t, points[0].Compression.Uncertainty)
	// A limit that the noise would hide at the lowest level is not met.
	_, _, _, err := series.MaxLevel(1000, points[0].THD.Bound*math.Pow(10, -1./20))
	require.ErrorIs(t, err, distortion.ErrExceeded)
	assert.ErrorContains(t, err, "below the floor")
}

func TestSetsThatMakeNoSeries(t *testing.T) {
	t.Parallel()
	set := func(c sweep.Config) *distortion.HarmonicSet {
		s := newSweep(t, c)
		return harmonics(t, s, withHarmonics(s), distortion.Config{})
	}
	config := sweep.Config{Start: 100, Stop: 3000, SampleRate: 16000, Duration: time.Second}
	one := set(config)
	_, err := distortion.NewLevelSeries(one)
	assert.ErrorContains(t, err, "at least two levels")
	_, err = distortion.NewLevelSeries(one, one)
	assert.ErrorContains(t, err, "two sets at 0 dBFS")
	config.Level, config.Stop = -6, 3500
	_, err = distortion.NewLevelSeries(one, set(config))
	assert.ErrorIs(t, err, distortion.ErrOtherSweep)
}
