package programme

import (
	"math"
	"slices"
)

// Access to unexported parts for the tests of package programme_test.

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

// Welch averages over segments of n samples, hop apart, under a periodic Hann window. It panics if
// the signals differ in length or are shorter than a segment, and for an n that is odd or below 4
// or a hop below 1.
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

// Frequency returns the frequency in Hz of bin k.
func (s *Spectra) Frequency(k int) float64 { return float64(k) * s.SampleRate / float64(s.Len) }

// H1 returns h1 by bin.
func (s *Spectra) H1() []complex128 {
	h := make([]complex128, len(s.Cross))
	for k, c := range s.Cross {
		h[k] = h1(s.Direct[k], c)
	}
	return h
}

// H2 returns h2 by bin.
func (s *Spectra) H2() []complex128 {
	h := make([]complex128, len(s.Cross))
	for k, c := range s.Cross {
		h[k] = h2(s.Through[k], c)
	}
	return h
}

// TotalLeastSquares returns totalLeastSquares by bin.
func (s *Spectra) TotalLeastSquares(ratio float64) []complex128 {
	h := make([]complex128, len(s.Cross))
	for k, c := range s.Cross {
		h[k] = totalLeastSquares(s.Direct[k], s.Through[k], c, ratio)
	}
	return h
}

// Coherence returns coherence by bin.
func (s *Spectra) Coherence() []float64 {
	g := make([]float64, len(s.Cross))
	for k, c := range s.Cross {
		g[k] = coherence(s.Direct[k], s.Through[k], c)
	}
	return g
}

// EffectiveAverages returns effectiveAverages.
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

// rounding is the power, relative to the loudest bin or the energy, below which a bin holds
// rounding errors only. Both signals share one complex transform, so the rounding of one appears in
// the other: √(log2 n) 2^−53, that is 3e−31 in power for 2^20 points, times thirty.
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

// Segment returns the length in seconds of the segments behind the spectra at f Hz.
func (c *Comparison) Segment(f float64) float64 {
	t := resolutionFor(c.resolutions, f)
	return float64(t.n) / t.rate
}

// CutError lets tests read where the jump is.
type CutError = cutError

// Wander returns the rms distance of the segments' delays from a steady clock's, in seconds.
func Wander(a *Alignment) float64 { return a.wander }
