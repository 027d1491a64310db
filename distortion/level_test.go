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

// cubic is x − c x³, which compresses: of a sine of amplitude A the fundamental
// is A (1 − 3/4 c A²) and the third harmonic c A³/4 (NIST DLMF §4.21).
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

// ofCubic is the level in dB of the third harmonic and the gain in dB of the
// fundamental at an amplitude.
func ofCubic(a float64) (third, fundamental float64) {
	linear := 1 - 0.75*cubic*a*a
	return 20 * math.Log10(cubic*a*a/4/linear), 20 * math.Log10(linear)
}

func TestDistortionAgainstLevel(t *testing.T) {
	t.Parallel()
	series := levelSeries(t, nil, -6, -24, 0, -12, -18)
	series.Calibration = 114
	_, lowest := ofCubic(math.Pow(10, -24./20))
	points := series.At(1000)
	require.Len(t, points, 5)
	for i, played := range []float64{-24, -18, -12, -6, 0} {
		p := points[i]
		third, fundamental := ofCubic(math.Pow(10, played/20))
		assert.Equal(t, played, p.Played)
		assert.InDelta(t, played+fundamental+114, p.Output, 0.01) // the closed form holds but for the window
		assert.InDelta(t, fundamental-lowest, p.Compression, 0.01)
		assert.InDelta(t, third, p.THD.Level, 0.05)
		assert.InDelta(t, third, p.Orders[1].Level, 0.05)
		assert.Equal(t, 3, p.Highest)
		assert.True(t, math.IsNaN(p.CompressionUncertainty), "no silence was given")
	}
	curves := series.Compression()
	require.Len(t, curves, 4)
	for i, played := range []float64{-18, -12, -6, 0} {
		_, fundamental := ofCubic(math.Pow(10, played/20))
		assert.InDelta(t, fundamental-lowest, curves[i].At(300), 0.01)
	}
	assert.Equal(t, "linear from -24 dBFS", curves[0].Reference)
	assert.Zero(t, series.At(2480)[0].Highest, "too near the end of the sweep")
	assert.Zero(t, series.At(3000)[0].Highest, "not played")
}

func TestHighestLevelUnderAWantedDistortion(t *testing.T) {
	t.Parallel()
	series := levelSeries(t, nil, -24, -21, -18, -15, -12, -9, -6, -3, 0)
	series.Calibration = 120
	for _, percent := range []float64{0.1, 0.3, 1, 3} {
		// c a²/4 / (1 − 3/4 c a²) = k: a² = k / (c/4 + 3/4 c k)
		k := percent / 100
		a := math.Sqrt(k / (cubic/4 + 0.75*cubic*k))
		_, fundamental := ofCubic(a)
		limit, err := series.Highest(1000, 20*math.Log10(k))
		require.NoError(t, err)
		assert.InDelta(t, 20*math.Log10(a), limit.Played, 0.05, "%g %%", percent) // a line of 3 dB for a curve
		assert.InDelta(t, 20*math.Log10(a)+fundamental+120, limit.Output, 0.05, "%g %%", percent)
	}
	limit, err := series.Highest(1000, -20)
	require.ErrorIs(t, err, distortion.ErrNotReached)
	assert.Equal(t, 0.0, limit.Played, "it holds up to there at least")
	limit, err = series.Highest(1000, -80)
	require.ErrorIs(t, err, distortion.ErrExceeded)
	assert.Equal(t, -24.0, limit.Played)
	limit, err = series.Highest(21, -40)
	assert.ErrorContains(t, err, "not known")
	assert.True(t, math.IsNaN(limit.Played))
}

func TestLevelsBelowTheFloorCountWithTheirBound(t *testing.T) {
	t.Parallel()
	silence := make([]float64, 16000)
	addNoise(silence, 1, -60)
	series := levelSeries(t, silence, -30, -20, -10, 0)
	points := series.At(1000)
	require.True(t, points[0].THD.Below, "%v", points[0].THD)
	assert.False(t, points[3].THD.Below)
	assert.Greater(t, points[1].CompressionUncertainty, points[3].CompressionUncertainty)
	assert.Zero(t, points[0].CompressionUncertainty)
	// What the noise would hide at the lowest level cannot be said to be under.
	_, err := series.Highest(1000, points[0].THD.Bound()-1)
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
	assert.ErrorContains(t, err, "two at least")
	_, err = distortion.NewLevelSeries(one, one)
	assert.ErrorContains(t, err, "two sets at 0 dBFS")
	config.Level, config.Stop = -6, 3500
	_, err = distortion.NewLevelSeries(one, set(config))
	assert.ErrorIs(t, err, distortion.ErrOtherSweep)
}
