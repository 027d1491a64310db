package tone

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/statistic"
	"example.com/earnest/internal/testing/known"
)

// The fit of one line by scipy.optimize with the same weights, those of a Hann window:
// testdata/reference/statistics.py.
func TestSineFitEqualsSciPy(t *testing.T) {
	var reference struct {
		Sine struct {
			SampleRate                                    int
			Amplitude, Frequency, Phase, Offset, Residual float64
		}
	}
	known.Values(t, "statistics.json", &reference)
	want := reference.Sine
	x := make([]float64, 4000)
	for i := range x {
		at := float64(i) / float64(want.SampleRate)
		remainder := float64((7919*i*i+104729*i)%65537)/32768 - 1
		x[i] = 0.4*math.Sin(2*math.Pi*997.3*at+0.7) + 0.05 + 0.03*math.Sin(2*math.Pi*3*997.3*at) + 0.02*remainder
	}
	b := comb{lines: []line{{m: 1}}, omega: [2]float64{2 * math.Pi * 997 / float64(want.SampleRate)}}
	rest, err := b.fit(x, newWindow(len(x)), 1)
	require.NoError(t, err)
	atStart := cmplx.Phase(b.c[0]) - b.omega[0]*float64(len(x)-1)/2 + math.Pi/2
	assert.InDelta(t, want.Amplitude, b.amplitude(0), 1e-8, "where each stops at a flat minimum")
	assert.InDelta(t, want.Frequency, b.omega[0]/(2*math.Pi)*float64(want.SampleRate), 1e-6, "the same, in Hz")
	assert.InDelta(t, 0, wrap(want.Phase-atStart), 1e-7, "the same")
	assert.InDelta(t, want.Offset, b.offset, 1e-8, "the same")
	assert.InDelta(t, want.Residual, math.Sqrt(statistic.MeanSquare(rest)), 1e-9, "flat at the minimum")
}
