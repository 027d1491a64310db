package programme

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/fft"
)

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

func h1(xx float64, xy complex128) complex128 {
	if xx == 0 {
		return cmplx.NaN()
	}
	return xy / complex(xx, 0)
}

func h2(yy float64, xy complex128) complex128 {
	if xy == 0 {
		return cmplx.NaN()
	}
	return complex(yy, 0) / cmplx.Conj(xy)
}

func totalLeastSquares(xx, yy float64, xy complex128, ratio float64) complex128 {
	if xy == 0 {
		return cmplx.NaN()
	}
	d := yy - ratio*xx
	root := math.Sqrt(d*d + 4*ratio*fft.Power(xy))
	if d < 0 { // the same without cancellation
		return complex(2*ratio, 0) * xy / complex(root-d, 0)
	}
	return complex((d+root)/2, 0) / cmplx.Conj(xy)
}

func coherence(xx, yy float64, xy complex128) float64 {
	if xx == 0 || yy == 0 {
		return math.NaN()
	}
	return min(1, fft.Power(xy)/(xx*yy))
}

// effectiveAverages is as Spectra.EffectiveAverages says, for a Hann window.
func effectiveAverages(count, n, hop int) float64 {
	loss := 1.0
	for j := 1; j*hop < n && j < count; j++ {
		rho := hannOverlap(float64(j*hop) / float64(n))
		loss += 2 * (1 - float64(j)/float64(count)) * rho * rho
	}
	return float64(count) / loss
}

// hannOverlap is Σ w(i) w(i+u n)/Σ w²(i) for a Hann window: the integral of the
// product of two shifted raised cosines, in closed form; 1/6 at one half.
func hannOverlap(u float64) float64 {
	x := 2 * math.Pi * u
	return (1-u)*(2+math.Cos(x))/3 + math.Sin(x)/(2*math.Pi)
}

// sums are the spectra before they are divided by anything. D is the slope of
// x across the segments; see tier.slopes.
type sums struct {
	xx, yy, dd []float64    // Σ |X|², Σ |Y|², Σ |D|²
	xy, xd     []complex128 // Σ X*Y, Σ X*D
	energy     float64      // of both, without a window
	count      int
}

func newSums(n int) *sums {
	bins := n/2 + 1
	return &sums{xx: make([]float64, bins), yy: make([]float64, bins), dd: make([]float64, bins), xy: make([]complex128, bins), xd: make([]complex128, bins)}
}

func (s *sums) merge(o *sums) {
	for k := range s.xx {
		s.xx[k] += o.xx[k]
		s.yy[k] += o.yy[k]
		s.dd[k] += o.dd[k]
		s.xy[k] += o.xy[k]
		s.xd[k] += o.xd[k]
	}
	s.energy += o.energy
	s.count += o.count
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

// transformer turns segments into sums. It carries scratch memory, so each
// goroutine has its own.
type transformer struct {
	transform *fft.Complex
	z         []complex128
}

func newTransformer(n int) *transformer {
	return &transformer{transform: fft.NewComplex(n), z: make([]complex128, n)}
}

// add transforms both segments at once, as z = x + jy, without a window, and
// parts them:
//
//	x: (Z[k] + Z*[n−k])/2,  y: (Z[k] − Z*[n−k])/2j.
//
// The Hann window, ½ − ½ cos, and the sine that D has for a window both weigh
// neighbouring bins R of these:
//
//	X[k] = R[k]/2 − (R[k−1] + R[k+1])/4,  D[k] = (R[k−1] − R[k+1])/4.
func (t *transformer) add(s *sums, x, y []float64) {
	z := t.z
	x, y = x[:len(z)], y[:len(z)]
	for i, v := range x {
		z[i] = complex(v, y[i])
	}
	s.energy += floats.Dot(x, x) + floats.Dot(y, y)
	t.transform.Transform(z)
	s.count++
	m := len(z)/2 + 1
	xx, yy, dd, xy, xd := s.xx[:m], s.yy[:m], s.dd[:m], s.xy[:m], s.xd[:m]
	// Twice R of the bins before, at and after k; that before 0 is the mirror
	// image of that after it.
	a, b := z[1], z[len(z)-1]
	xr0, xi0 := real(a)+real(b), imag(b)-imag(a)
	yr0, yi0 := imag(a)+imag(b), real(a)-real(b)
	xr1, xi1, yr1, yi1 := 2*real(z[0]), 0., 2*imag(z[0]), 0.
	for k := range xx {
		a, b := z[k+1], z[len(z)-k-1]
		xr2, xi2 := real(a)+real(b), imag(a)-imag(b)
		yr2, yi2 := imag(a)+imag(b), real(b)-real(a)
		xr, xi := 0.25*xr1-0.125*(xr0+xr2), 0.25*xi1-0.125*(xi0+xi2)
		yr, yi := 0.25*yr1-0.125*(yr0+yr2), 0.25*yi1-0.125*(yi0+yi2)
		dr, di := 0.125*(xr0-xr2), 0.125*(xi0-xi2)
		xx[k] += xr*xr + xi*xi
		yy[k] += yr*yr + yi*yi
		dd[k] += dr*dr + di*di
		xy[k] += complex(xr*yr+xi*yi, xr*yi-xi*yr)
		xd[k] += complex(xr*dr+xi*di, xr*di-xi*dr)
		xr0, xi0, yr0, yi0 = xr1, xi1, yr1, yi1
		xr1, xi1, yr1, yi1 = xr2, xi2, yr2, yi2
	}
}
