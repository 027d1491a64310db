package distortion_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/sweep"
)

func TestTotalHarmonicDistortion(t *testing.T) {
	t.Parallel()
	s := newSweep(t, sweep.Config{Duration: 3 * time.Second})
	// 3 % and 4 % make 5 %, relative to the total 5/√(100² + 5²) %.
	hs, err := distortion.Harmonics(separate(t, s, 3, withHarmonics(s,
		harmonic{2, 20 * math.Log10(0.03), 0}, harmonic{3, 20 * math.Log10(0.04), 0})), distortion.Config{})
	require.NoError(t, err)
	toFundamental, toTotal := hs.THD(distortion.ToFundamental), hs.THD(distortion.ToTotal)
	for _, f := range []float64{100, 440, 1000, 5000} {
		assert.InDelta(t, 5, toFundamental.Percent(f), 0.01, "at %g Hz", f) // 0.02 dB
		assert.InDelta(t, 100*0.05/math.Hypot(1, 0.05), toTotal.Percent(f), 0.01, "at %g Hz", f)
	}
	assert.InDelta(t, 3, toFundamental.Percent(9000), 0.01, "the third is above the ceiling")
	assert.True(t, math.IsNaN(toFundamental.Percent(15000)), "both are")
	assert.Equal(t, "total harmonic distortion relative to the total", toTotal.Curve().Reference)
	assert.Equal(t, "total harmonic distortion relative to the fundamental", toFundamental.Curve().Reference)
	assert.Nil(t, toTotal.Floor)
	assert.True(t, math.IsNaN(toTotal.Figure(1000).Floor))
}

// TestSquareWave: a device that makes squares of sines has 1/n of each odd
// harmonic (Fourier), and THD over the orders taken is the root of the sum of
// their squares.
func TestSquareWaveToTheEighthOrder(t *testing.T) {
	t.Parallel()
	s := newSweep(t, sweep.Config{Stop: 5000, Duration: 5 * time.Second, Level: -12})
	var square []harmonic
	for n := 3; n < 40; n += 2 {
		square = append(square, harmonic{n, -20 * math.Log10(float64(n)), 0})
	}
	hs, err := distortion.Harmonics(separate(t, s, 8, withHarmonics(s, square...)), distortion.Config{})
	require.NoError(t, err)
	want := 100 * math.Sqrt(1./9+1./25+1./49)
	thd := hs.THD(distortion.ToFundamental)
	for _, f := range []float64{100, 1000, 2800} {
		assert.InDelta(t, want, thd.Percent(f), 0.05, "at %g Hz", f) // 0.01 dB of 39 %
	}
	assert.InDelta(t, 100*math.Sqrt(1./9+1./25), thd.Percent(3500), 0.05, "the seventh is above the ceiling")
}

func TestUncertaintyOfTHD(t *testing.T) {
	race.Skip(t)
	t.Parallel()
	s := newSweep(t, quick)
	d := deconvolver(t, s, 3)
	clean := withHarmonics(s, harmonic{2, -60, 1}, harmonic{3, -66, 2})
	truth := 20 * math.Log10(math.Hypot(1e-3, math.Pow(10, -66./20)))
	silence := make([]float64, 16000)
	addNoise(silence, 77, -75)
	var inside, total float64
	for r := range uint64(150) {
		recording := append([]float64{}, clean...)
		addNoise(recording, r, -75)
		sep, err := d.Separate(recording)
		require.NoError(t, err)
		hs, err := distortion.Harmonics(sep, distortion.Config{Silence: silence, PerOctave: 1})
		require.NoError(t, err)
		for _, f := range []float64{125, 250, 500, 1000} {
			fig := hs.THD(distortion.ToFundamental).Figure(f)
			require.False(t, fig.Below)
			total++
			if math.Abs(fig.Level-truth) <= fig.Uncertainty {
				inside++
			}
		}
	}
	assert.InDelta(t, 0.683, inside/total, 0.057) // three standard deviations of the share of 600
}
