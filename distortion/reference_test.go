package distortion_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/testing/known"
)

// The published example, measured with a sweep by GNU Octave and another method:
// testdata/reference/distortion.m.
func TestKernelsEqualOctave(t *testing.T) {
	t.Parallel()
	var reference struct {
		Kernels struct {
			Frequency []float64
			Level     [][]float64
		}
	}
	known.Values(t, "distortion.json", &reference)
	s := newSweep(t, hammersteinSweep)
	hs, err := distortion.Harmonics(separate(t, s, 4, hammersteinDevice(s, hammerstein)), distortion.Config{})
	require.NoError(t, err)
	kernels := hs.Kernels()
	require.Len(t, reference.Kernels.Level, len(kernels))
	for m, k := range kernels {
		for i, f := range reference.Kernels.Frequency {
			assert.InDelta(t, reference.Kernels.Level[m][i], levelAt(k, f), 0.04, "kernel %d at %g Hz; 0.02 dB are the reference's own", m+1, f)
		}
	}
}

// y = x + 0.05 x² + 0.04 x³: by the power reduction of NIST DLMF 4.21 a sine of amplitude
// 1 has harmonics of 0.05/2 and 0.04/4 beside a fundamental of 1 + 3/4 · 0.04.
func TestCurvesOfAPolynomial(t *testing.T) {
	parts, err := brief().Separate(bentSweep(0.05, 0.04, 500))
	require.NoError(t, err)
	hs, err := distortion.Harmonics(parts, distortion.Config{Silence: quiet(12000)})
	require.NoError(t, err)
	second, third := 20*math.Log10(0.025/1.03), 20*math.Log10(0.01/1.03)
	const tolerance = 0.05 // dB; the ends of a sweep of half a second reach in
	for _, f := range []float64{350, 500, 700} {
		assert.InDelta(t, second, hs.Orders[0].At(f).Value, tolerance)
		assert.InDelta(t, third, hs.Orders[1].At(f).Value, tolerance)
		assert.InDelta(t, second, hs.Harmonic(2, f).AsRead, tolerance)
		assert.InDelta(t, third, hs.Orders[1].At(f).Value, tolerance)
		both := 20 * math.Log10(math.Hypot(0.025, 0.01)/1.03)
		assert.InDelta(t, both, 20*math.Log10(hs.THD(f).Value/100), tolerance)
	}
}
