package smoothing_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/known"
	"example.com/earnest/smoothing"
)

// Means of a resonance over bands by adaptive quadrature, and the A-weighting by its
// poles, of GNU Octave: testdata/reference/smoothing.m.
type means struct {
	Resonance, Q float64
	Centre       []float64
	Bands        []struct {
		Fraction, Bandwidths     float64
		Power, Level, Real, Imag []float64
	}
	Weighting struct{ Frequency, A []float64 }
}

func readMeans(t testing.TB) (m means) {
	t.Helper()
	known.Values(t, "smoothing.json", &m)
	require.Len(t, m.Bands, 6)
	return m
}

func TestMeansEqualOctave(t *testing.T) {
	m := readMeans(t)
	const points = 40000
	grid := make([]float64, points+1)
	power, level, h := make([]float64, len(grid)), make([]float64, len(grid)), make([]complex128, len(grid))
	for i := range grid {
		grid[i] = 20 * math.Pow(1500, float64(i)/points) // 20 Hz to 30 kHz
		x := grid[i] / m.Resonance
		h[i] = 1 / complex(1-x*x, x/m.Q)
		power[i] = real(h[i])*real(h[i]) + imag(h[i])*imag(h[i])
		level[i] = 10 * math.Log10(power[i])
	}
	for _, b := range m.Bands {
		var plan, onGrid *smoothing.Plan
		var err error
		if b.Fraction > 0 {
			plan, err = smoothing.NewOctave(grid, m.Centre, b.Fraction)
			require.NoError(t, err)
			onGrid, err = smoothing.NewOctave(grid, nil, b.Fraction)
		} else {
			plan, err = smoothing.NewERB(grid, m.Centre, b.Bandwidths)
			require.NoError(t, err)
			onGrid, err = smoothing.NewERB(grid, nil, b.Bandwidths)
		}
		require.NoError(t, err)
		p, l, c := plan.Mean(nil, power), plan.Mean(nil, level), plan.Complex(nil, h)
		everywhere := onGrid.Mean(nil, level)
		// Linear interpolation between points h apart has an error of h² y″/12 in the mean. The
		// peak of a resonance of quality 8 has y″ of (2·8)² of its height: 5·10⁻⁶ of 64.
		for i, f := range m.Centre {
			assert.InEpsilon(t, b.Power[i], p[i], 1e-5, "%v, %v Hz; straight lines", b.Fraction, f)
			assert.InDelta(t, b.Level[i], l[i], 1e-5, "%v, %v Hz; straight lines", b.Fraction, f)
			assert.InDelta(t, b.Real[i], real(c[i]), 1e-4, "%v, %v Hz; straight lines under a quality of 8", b.Fraction, f)
			assert.InDelta(t, b.Imag[i], imag(c[i]), 1e-4, "%v, %v Hz; straight lines under a quality of 8", b.Fraction, f)
			k := int(math.Round(math.Log(f/20) / math.Log(1500) * points))
			assert.InDelta(t, b.Level[i], everywhere[k], 0.03, "%v, %v Hz; half a step of the grid beside, at 230 dB/neper under the narrowest band", b.Fraction, f)
		}
	}
}

func TestAWeightingEqualsOctave(t *testing.T) {
	w := readMeans(t).Weighting
	for i, f := range w.Frequency {
		assert.InDelta(t, w.A[i], smoothing.AWeighting(f), 5e-3, "%v Hz; the formula rounds the corners 107.653 to 107.7 and 737.862 to 737.9", f)
	}
}
