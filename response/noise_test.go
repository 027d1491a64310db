package response

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
	"time"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"example.com/earnest/sweep"
)

func white(n int, rms, offset float64, seed uint64) []float64 {
	random := rand.New(rand.NewPCG(seed, 5))
	x := make([]float64, n)
	for i := range x {
		x[i] = rms*random.NormFloat64() + offset
	}
	return x
}

// White noise of rms σ has the one-sided density 2σ²/fs at every frequency, and
// the power σ² b/(fs/2) in a band b wide (Parseval).
func TestDensityOfWhiteNoise(t *testing.T) {
	n, err := NewNoise(white(96000, 1e-3, 0.01, 1), 48000)
	require.NoError(t, err)
	for _, f := range []float64{500, 2000, 10000, 20000} {
		assert.InEpsilon(t, 2e-6/48000, n.Density(f), 0.15, "%v Hz; a sixth of an octave at 500 Hz holds ten bins of 22 averages: 5 %% each standard error", f)
	}
	assert.InEpsilon(t, 1e-6*9000/24000, n.Power(Band{1000, 10000}), 0.03, "1500 bins of 22 averages: 0.6 %% standard error")
	assert.InEpsilon(t, n.Density(5000)/4, n.Averaged(4).Density(5000), 1e-12, "four recordings have a quarter of the power; rounding")
	assert.True(t, math.IsNaN(n.Density(30000)) && math.IsNaN(n.Density(0)), "beyond the bins nothing is known")
	assert.True(t, math.IsNaN(n.Power(Band{})))
}

// NoiseAt predicts the mean result of deconvolving noise alone, also where the sweep fades out and
// passes more noise.
func TestDeconvolvedNoiseIsPredicted(t *testing.T) {
	long.Skip(t)
	s, err := sweep.New(sweep.Config{Duration: time.Second, Start: 50, Stop: 15000})
	require.NoError(t, err)
	d, err := NewDeconvolver(s, DeconvolverConfig{})
	require.NoError(t, err)
	n, err := NewNoise(white(1<<20, 1e-3, 0, 99), 48000)
	require.NoError(t, err)
	const before, after = 20 * time.Millisecond, 50 * time.Millisecond
	power := map[float64]float64{400: 0, 1000: 0, 8000: 0, 14800: 0} // relative to the prediction
	apart := map[float64]float64{400: 0.01, 1000: 0.01, 8000: 0.01, 14800: 0.0015}
	const draws = 60
	var window *Impulse
	for seed := range uint64(draws) {
		h, err := d.Impulse(white(s.Len()+40000, 1e-3, 0, seed))
		require.NoError(t, err)
		window = h.WindowAt(0.3, before, after)
		transfer := window.Transfer()
		for f := range power {
			for step := -5.0; step <= 5; step++ { // bins a window apart are independent
				at := f * (1 + step*apart[f])
				power[f] += math.Pow(cmplx.Abs(transfer.At(at))/window.NoiseAt(n, at), 2) / (11 * draws)
			}
		}
	}
	for f, p := range power {
		assert.InDelta(t, 0, 10*math.Log10(p), 1, "dB at %v Hz; 60 draws of three independent bins or more: 0.33 dB standard error, and as much of the prediction", f)
	}
}

// An input's offset is not noise, though the Hann window spreads it into the next bin.
func TestOffsetIsNoNoise(t *testing.T) {
	want, err := NewNoise(white(96000, 1e-3, 0, 1), 48000)
	require.NoError(t, err)
	got, err := NewNoise(white(96000, 1e-3, 0.5, 1), 48000)
	require.NoError(t, err)
	for _, f := range []float64{want.step, 10, 100} {
		assert.InEpsilon(t, want.Density(f), got.Density(f), 1e-6, "%v Hz; rounding of an offset 54 dB above the noise", f)
	}
}

func TestSilenceThatCannotBeUsed(t *testing.T) {
	for name, silence := range map[string][]float64{"none": nil, "short": make([]float64, 100), "not a number": append(make([]float64, 1000), math.NaN())} {
		_, err := NewNoise(silence, 48000)
		assert.ErrorIs(t, err, ErrSilence, name)
	}
	still, err := NewNoise(make([]float64, 4096), 48000)
	require.NoError(t, err)
	assert.True(t, math.IsNaN(still.Density(1000)), "digital zeros are not a converter's noise")
	assert.True(t, math.IsNaN(still.Power(Band{100, 1000})))
	assert.Panics(t, func() { still.Averaged(0) })
}

func TestMaskBelowLeavesOutLevelsNearTheNoise(t *testing.T) {
	c, err := NewCurve([]float64{100, 200, 400, 800}, []float64{0, -5, -20, 3})
	require.NoError(t, err)
	floor, err := NewCurve([]float64{100, 400}, []float64{-12, -12})
	require.NoError(t, err)
	got := c.MaskBelow(floor, 10)
	assert.Equal(t, 0.0, got.Level[0])
	assert.True(t, math.IsNaN(got.Level[1]) && math.IsNaN(got.Level[2]))
	assert.Equal(t, 3.0, got.Level[3], "where the floor is not known, the level stays")
}

// The variance of a density with k degrees of freedom is 2/k of its square.
func TestDensitiesScatterAsTheirDegreesOfFreedom(t *testing.T) {
	race.Skip(t)
	const draws = 400
	for _, f := range []float64{100, 1000, 3000} {
		var densities []float64
		var k float64
		for seed := range uint64(draws) {
			n, err := NewNoise(white(8000, 1e-3, 0, seed), 8000)
			require.NoError(t, err)
			densities, k = append(densities, n.density(f)), n.DegreesOfFreedom(f)
		}
		mean, variance := stat.MeanVariance(densities, nil)
		assert.InEpsilon(t, k, 2*mean*mean/variance, 0.2, "at %v Hz: three standard errors of a variance of 400, and the window's overlap", f)
	}
}
