package programme

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/fft"
)

// sums holds sums over segments, without any scale. D is the transform of x under the slope of the
// window (see segmentends.go).
type sums struct {
	xx, yy, dd []float64    // Σ |X|², Σ |Y|², Σ |D|²
	xy, xd     []complex128 // Σ X*Y, Σ X*D
	energy     float64      // of both signals, without a window
	count      int
}

func newSums(n int) *sums {
	bins := n/2 + 1
	return &sums{xx: make([]float64, bins), yy: make([]float64, bins), dd: make([]float64, bins),
		xy: make([]complex128, bins), xd: make([]complex128, bins)}
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

// transformer adds segments to sums. It holds scratch memory, so each goroutine needs its own.
type transformer struct {
	transform *fft.Complex
	z         []complex128
}

func newTransformer(n int) *transformer {
	return &transformer{transform: fft.NewComplex(n), z: make([]complex128, n)}
}

// add transforms both segments at once, as z = x + jy without a window, and separates them:
//
//	x: (Z[k] + Z*[n−k])/2,  y: (Z[k] − Z*[n−k])/2j.
//
// The Hann window, ½ − ½ cos, and the sine that is the window of D then become sums over
// neighbouring bins R of these transforms:
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
	// Twice R of the bins before, at and after k. The bin before 0 is the mirror image of the
	// bin after it.
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

// h1 returns Sxy/Sxx, which noise in the through recording leaves unbiased, or NaN without input.
func h1(xx float64, xy complex128) complex128 {
	if xx == 0 {
		return cmplx.NaN()
	}
	return xy / complex(xx, 0)
}

// h2 returns Syy/Syx, which noise in the direct recording leaves unbiased, or NaN without a
// cross-spectrum.
func h2(yy float64, xy complex128) complex128 {
	if xy == 0 {
		return cmplx.NaN()
	}
	return complex(yy, 0) / cmplx.Conj(xy)
}

// totalLeastSquares is the estimate for noise in both recordings. The noise density of the through
// recording is ratio times that of the direct one:
//
//	H = (Syy − r Sxx + √((Syy − r Sxx)² + 4 r |Sxy|²)) / (2 Syx).
//
// It lies between H1 (r → ∞) and H2 (r → 0). (P. R. White, M. H. Tan, J. K. Hammond, J. Sound Vib.
// 290, 2006, from memory.)
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

// coherence returns γ² = |Sxy|²/(Sxx Syy), the share of the through power that a steady linear
// filter of the direct recording explains, or NaN if either has no power. From n segments it is
// biased up by about (1 − γ²)²/n (Bendat & Piersol, Random Data, ch. 9).
func coherence(xx, yy float64, xy complex128) float64 {
	if xx == 0 || yy == 0 {
		return math.NaN()
	}
	return min(1, fft.Power(xy)/(xx*yy))
}

// effectiveAverages returns the number of independent segments with the same variance as these,
// since segments that overlap share noise. With ρ(j) the correlation of two segments under a Hann
// window j hops apart,
//
//	nd = n / (1 + 2 Σ (1 − j/n) ρ²(j))      (Welch 1967).
func effectiveAverages(count, n, hop int) float64 {
	loss := 1.0
	for j := 1; j*hop < n && j < count; j++ {
		rho := hannOverlap(float64(j*hop) / float64(n))
		loss += 2 * (1 - float64(j)/float64(count)) * rho * rho
	}
	return float64(count) / loss
}

// hannOverlap returns Σ w(i) w(i+u n)/Σ w²(i) for a Hann window of n samples: the integral of the
// product of two shifted raised cosines, in closed form. It is 1/6 at u = 1/2.
func hannOverlap(u float64) float64 {
	x := 2 * math.Pi * u
	return (1-u)*(2+math.Cos(x))/3 + math.Sin(x)/(2*math.Pi)
}
