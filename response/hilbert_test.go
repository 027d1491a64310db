package response_test

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"example.com/earnest/response"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// hilbert returns the phase of minimum-phase bins by the sum that is equivalent to folding a
// cepstrum on an even number n of points,
//
//	φ[k] = −2/n Σ ln|H[m]| cot(π (k − m)/n)  over k − m odd
//
// (Oppenheim & Schafer, Discrete-Time Signal Processing, ch. 12, from memory).
func hilbert(bins []complex128) []float64 {
	n := 2 * (len(bins) - 1)
	phase := make([]float64, len(bins))
	for k := range phase {
		for m := range n {
			if (k-m)%2 != 0 {
				phase[k] -= 2 / float64(n) * math.Log(cmplx.Abs(bins[min(m, n-m)])) / math.Tan(math.Pi*float64(k-m)/float64(n))
			}
		}
	}
	return phase
}

func TestMinimumPhaseIsTheDiscreteHilbertTransform(t *testing.T) {
	random := rand.New(rand.NewPCG(8, 1))
	for _, n := range []int{8, 16, 50} {
		tr := transferOf(n, n, response.AllFrequencies, func(float64) complex128 { return complex(math.Exp(random.NormFloat64()), 0) })
		tr.Bins[0] = tr.Bins[1] // the value used if it is not known
		want := hilbert(tr.Bins)
		phase, _ := tr.MinimumPhase()
		assert.InDeltaSlice(t, want[1:], phase, 1e-12, "%d points; rounding", n)
	}
}

// A response that rises by 9 dB per octave is extrapolated with that slope, even if a third of an
// octave holds only bins 4 and 5.
func TestMinimumPhaseGoesOnAsSteeplyAsItBegins(t *testing.T) {
	rising := func(f float64) complex128 { return complex(math.Pow(max(1, f), 1.5), 0) }
	want := hilbert(transferOf(64, 64, response.AllFrequencies, rising).Bins)
	tr := transferOf(64, 64, response.Band{Low: 4, High: 20}, rising)
	phase, _ := tr.MinimumPhase()
	assert.InDeltaSlice(t, want[4:21], phase, 1e-12, "rounding")
}

// A level response has no phase, also if the band begins so high up that a third of an octave above
// its beginning is past the end.
func TestMinimumPhaseOfABandAtTheTop(t *testing.T) {
	tr := transferOf(48, 48, response.Band{Low: 23, High: 24}, func(float64) complex128 { return 3 })
	phase, _ := tr.MinimumPhase()
	assert.InDeltaSlice(t, []float64{0, 0}, phase, 1e-12, "rounding")
}

// 2 rad on top of a high pass's phase, which together pass π at the lowest bin.
func TestExcessPhaseBeginsWithinHalfATurn(t *testing.T) {
	tr := transferOf(256, 256, response.AllFrequencies, func(f float64) complex128 {
		return complex(min(1, math.Pow(max(1, f)/16, 2)), 0)
	})
	least := hilbert(tr.Bins)
	require.Greater(t, least[1]+2, math.Pi)
	for k := range tr.Bins {
		tr.Bins[k] *= cmplx.Rect(1, least[k]+2)
	}
	excess, _ := tr.ExcessPhase()
	for k, v := range excess {
		require.InDelta(t, 2, v, 1e-9, "bin %d; rounding", k+1)
	}
}

func TestGroupDelayOfTwoBins(t *testing.T) {
	tr := transferOf(48000, 4800, response.Band{Low: 20, High: 30}, func(f float64) complex128 { return cmplx.Rect(1, -2*math.Pi*f*0.003) })
	assert.InDeltaSlice(t, []float64{0.003, 0.003}, tr.GroupDelay(), 1e-12, "one difference for both; rounding")
}

func TestMinimumPhaseOfNothingIsNotKnown(t *testing.T) {
	phase, _ := transferOf(16, 16, response.Band{Low: 1, High: 7}, func(float64) complex128 { return 0 }).MinimumPhase()
	require.Len(t, phase, 7)
	for k, v := range phase {
		isNaN(t, v, k+1)
	}
}
