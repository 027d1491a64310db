//go:build !race

package programme_test

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"
	"pgregory.net/rapid"

	"example.com/earnest/response/programme"
)

// Properties that hold whatever the numbers are; more cases with -rapid.checks=N.

func drawSpectra(t *rapid.T) (x, y []float64, of func(x, y []float64) *programme.Spectra) {
	count := rapid.IntRange(64, 256).Draw(t, "samples")
	x = rapid.SliceOfN(rapid.Float64Range(-1, 1), count, count).Draw(t, "direct")
	y = rapid.SliceOfN(rapid.Float64Range(-1, 1), count, count).Draw(t, "through")
	n, hop := 2*rapid.IntRange(2, 16).Draw(t, "half a segment"), rapid.IntRange(1, 32).Draw(t, "hop")
	return x, y, func(x, y []float64) *programme.Spectra { return programme.Welch(x, y, 48000, n, hop) }
}

func nearly(t *rapid.T, want, got complex128, scale float64, why string) {
	require.Equal(t, cmplx.IsNaN(want), cmplx.IsNaN(got), why)
	require.False(t, cmplx.Abs(want-got) > 1e-9*scale, "%v, %v: %s", want, got, why)
}

// H follows a gain and a polarity of either recording; the coherence does not.
func TestPropertySpectraFollowGain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y, of := drawSpectra(t)
		s := of(x, y)
		a := rapid.Float64Range(0.1, 10).Draw(t, "a")
		b := rapid.Float64Range(0.1, 10).Draw(t, "b") * []float64{1, -1}[rapid.IntRange(0, 1).Draw(t, "polarity")]
		floats.Scale(a, x)
		floats.Scale(b, y)
		l := of(x, y)
		loudest := max(floats.Max(s.Direct), floats.Max(s.Through), floats.Max(l.Direct), floats.Max(l.Through))
		for k := range s.Cross {
			if s.Coherence()[k] < 1e-6 {
				continue // the two share nothing, or only a part that cancels between segments
			}
			gain := complex(b/a, 0)
			// Both are transformed at once, so the softer one contains the rounding of the louder
			// one.
			coarse := 1 + 1e-6*math.Sqrt(loudest/min(s.Direct[k], s.Through[k], l.Direct[k], l.Through[k]))
			nearly(t, s.H1()[k]*gain, l.H1()[k], coarse*cmplx.Abs(l.H1()[k]), "H1")
			nearly(t, s.H2()[k]*gain, l.H2()[k], coarse*cmplx.Abs(l.H2()[k]), "H2")
			nearly(t, s.TotalLeastSquares(2)[k]*gain, l.TotalLeastSquares(2 * b * b / (a * a))[k], coarse*cmplx.Abs(l.H2()[k]), "the ratio of the noises scales too")
			nearly(t, complex(s.Coherence()[k], 0), complex(l.Coherence()[k], 0), coarse, "coherence")
		}
	})
}

// H1| ≤ |TLS| ≤ |H2|; the coherence is |H1|/|H2|; with the recordings exchanged, H1 and H2 are each
// other's inverse.
func TestPropertyEstimatesBoundEachOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y, of := drawSpectra(t)
		s, back := of(x, y), of(y, x)
		ratio := math.Pow(10, rapid.Float64Range(-3, 3).Draw(t, "log ratio"))
		h1, h2, tls, g := s.H1(), s.H2(), s.TotalLeastSquares(ratio), s.Coherence()
		for k := range h1 {
			if cmplx.IsNaN(h1[k]) || cmplx.IsNaN(h2[k]) || g[k] < 1e-9 {
				continue // nothing is shared, or no more than rounding
			}
			require.True(t, g[k] >= 0 && g[k] <= 1, "%v", g[k])
			require.LessOrEqual(t, cmplx.Abs(h1[k]), cmplx.Abs(tls[k])*(1+1e-6))
			require.LessOrEqual(t, cmplx.Abs(tls[k]), cmplx.Abs(h2[k])*(1+1e-6))
			require.InDelta(t, g[k], cmplx.Abs(h1[k]/h2[k]), 1e-9, "γ² = H1/H2")
			nearly(t, 1, h1[k]*back.H2()[k], 1, "the inverse of the other")
		}
		require.True(t, s.EffectiveAverages() >= 1-1e-9 && s.EffectiveAverages() <= float64(s.Averages)+1e-9)
	})
}

// A plain gain is explained completely.
func TestPropertyAGainIsExplained(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, _, of := drawSpectra(t)
		gain := rapid.Float64Range(0.01, 100).Draw(t, "gain")
		y := make([]float64, len(x))
		floats.AddScaled(y, gain, x)
		s := of(x, y)
		for k, h := range s.H1() {
			if s.Direct[k] == 0 {
				require.True(t, cmplx.IsNaN(h) && math.IsNaN(s.Coherence()[k]), "without input nothing is known")
				continue
			}
			nearly(t, complex(gain, 0), h, gain, "H1")
			require.InDelta(t, 1, s.Coherence()[k], 1e-9, "rounding")
		}
		silent := of(make([]float64, len(x)), x)
		for k, h := range silent.H1() {
			require.True(t, cmplx.IsNaN(h) && cmplx.IsNaN(silent.H2()[k]) && math.IsNaN(silent.Coherence()[k]))
		}
	})
}
