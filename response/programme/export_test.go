package programme

import (
	"math"
	"slices"
)

// What the tests of package programme_test see of the inside.

// Spectra are the auto-spectra and the cross-spectrum of two signals, direct
// x and through y, averaged over segments (Welch 1967): one-sided power
// densities per Hz on the bins k SampleRate/Len Hz, k = 0 … Len/2.
//
//	Sxx = ⟨|X|²⟩,  Syy = ⟨|Y|²⟩,  Sxy = ⟨X* Y⟩
type Spectra struct {
	SampleRate float64 // Hz
	Len, Hop   int     // samples in a segment, and from one to the next
	Averages   int     // segments
	Direct     []float64
	Through    []float64
	Cross      []complex128
}

// Welch averages over segments of n samples, hop apart, under a periodic Hann
// window; nothing is taken off a segment beforehand, for a constant reaches the
// bins 0 and 1 only. It panics when the two differ in length, when they are
// shorter than one segment, and for an n that is odd or below 4 or a hop below 1.
func Welch(direct, through []float64, sampleRate float64, n, hop int) *Spectra {
	if len(direct) != len(through) || len(direct) < n || n < 4 || n%2 != 0 || hop < 1 {
		panic("programme: two signals of one length, at least a segment of an even number of samples, and a hop")
	}
	t := newTransformer(n)
	sum := newSums(n)
	for start := 0; start+n <= len(direct); start += hop {
		t.add(sum, direct[start:start+n], through[start:start+n])
	}
	return sum.spectra(sampleRate, hop)
}

// Frequency of bin k in Hz.
func (s *Spectra) Frequency(k int) float64 { return float64(k) * s.SampleRate / float64(s.Len) }

// H1 is Sxy/Sxx, which noise in the through recording leaves unbiased; NaN
// where there is nothing.
func (s *Spectra) H1() []complex128 {
	h := make([]complex128, len(s.Cross))
	for k, c := range s.Cross {
		h[k] = h1(s.Direct[k], c)
	}
	return h
}

// H2 is Syy/Syx, which noise in the direct recording leaves unbiased; NaN
// where there is nothing.
func (s *Spectra) H2() []complex128 {
	h := make([]complex128, len(s.Cross))
	for k, c := range s.Cross {
		h[k] = h2(s.Through[k], c)
	}
	return h
}

// TotalLeastSquares is the estimate for noise in both recordings, that of the
// through one being ratio times as powerful per Hz as that of the direct one:
//
//	H = (Syy − r Sxx + √((Syy − r Sxx)² + 4 r |Sxy|²)) / (2 Syx).
//
// It lies between H1 (r → ∞) and H2 (r → 0). (P. R. White, M. H. Tan, J. K.
// Hammond, J. Sound Vib. 290, 2006, from memory.)
func (s *Spectra) TotalLeastSquares(ratio float64) []complex128 {
	h := make([]complex128, len(s.Cross))
	for k, c := range s.Cross {
		h[k] = totalLeastSquares(s.Direct[k], s.Through[k], c, ratio)
	}
	return h
}

// Coherence is γ² = |Sxy|²/(Sxx Syy), the share of the through power that a
// steady linear filter makes of the direct recording; NaN where there is
// nothing. From n segments it is biased up by about (1 − γ²)²/n (Bendat &
// Piersol, Random Data, ch. 9).
func (s *Spectra) Coherence() []float64 {
	g := make([]float64, len(s.Cross))
	for k, c := range s.Cross {
		g[k] = coherence(s.Direct[k], s.Through[k], c)
	}
	return g
}

// EffectiveAverages is how many independent segments the averages are worth:
// those that overlap share noise. For a window w the correlation of two
// segments j hops apart is ρ(j), and
//
//	nd = n / (1 + 2 Σ (1 − j/n) ρ²(j))     (Welch 1967).
func (s *Spectra) EffectiveAverages() float64 { return effectiveAverages(s.Averages, s.Len, s.Hop) }

// RandomError is the normalised standard error of |H1| per bin,
//
//	ε = √(1 − γ²) / (|γ| √(2 nd))     (Bendat & Piersol, ch. 9).
func (s *Spectra) RandomError() []float64 {
	nd := s.EffectiveAverages()
	e := s.Coherence()
	for k, g := range e {
		e[k] = math.Sqrt((1 - g) / (2 * g * nd))
	}
	return e
}

// rounding is the power, relative to the loudest bin of the two signals or to their
// energy before the window, a bin's power if all are alike, below which there is
// nothing but what the transform of both at once leaves of one in the other: it errs
// by about √(log2 n) 2^−53, 3e−31 in power for 2^20 points; thirty times that.
const rounding = 1e-29

// spectra scales the sums to one-sided densities: 2/(fs Σ w²) per segment, half
// of it at 0 Hz and at half the sample rate, which have no other side.
func (s *sums) spectra(sampleRate float64, hop int) *Spectra {
	n := 2 * (len(s.xx) - 1)
	out := &Spectra{SampleRate: sampleRate, Len: n, Hop: hop, Averages: s.count,
		Direct: make([]float64, len(s.xx)), Through: make([]float64, len(s.xx)), Cross: make([]complex128, len(s.xx))}
	scale := 2 / (sampleRate * 3 / 8 * float64(n)) / float64(s.count) // Σ w² of a Hann window is 3n/8
	floor := rounding * max(slices.Max(s.xx), slices.Max(s.yy), s.energy)
	for k := range s.xx {
		if s.xx[k] < floor {
			s.xx[k], s.xy[k] = 0, 0
		}
		if s.yy[k] < floor {
			s.yy[k], s.xy[k] = 0, 0
		}
		g := scale
		if k == 0 || k == n/2 {
			g /= 2
		}
		out.Direct[k], out.Through[k], out.Cross[k] = g*s.xx[k], g*s.yy[k], complex(g, 0)*s.xy[k]
	}
	return out
}

// Align aligns without comparing.
func Align(direct, through Channel) (*Alignment, error) {
	if err := checkBoth(direct, through); err != nil {
		return nil, err
	}
	return align(direct, through)
}

// Segment is how long in seconds the segments are from which the spectra at f Hz come.
func (c *Comparison) Segment(f float64) float64 {
	t := resolutionFor(c.resolutions, f)
	return float64(t.n) / t.rate
}
