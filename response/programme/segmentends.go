package programme

import "example.com/earnest/internal/fft"

// Leakage across the ends of segments. A segment of y is not exactly the filtered segment of x,
// since the filter rings across its ends. To first order in the length of the ring over that of the
// segment,
//
//	Y = H X + H' D,
//
// where H' is dH/dk, per bin, and D is j times the transform of x under the slope of the window,
// here the sine (n/2π) dw/dt. It follows from the moments τ of the impulse response: w(t) = w(t −
// τ) + τ w'(t − τ), and Σ τ h(τ) exp(−jωτ) = j dH/dω. (R. Pintelon, J. Schoukens, System
// Identification, 2nd ed. 2012, ch. 7, does the same by local polynomials; J. Antoni, J. Schoukens,
// Automatica 43, 2007, gives the bias without the correction; both from memory.)
//
// This part does not depend on the noise and has no uncertainty. So it is subtracted from the
// residuals, and counts as explained.

// slopeReach is the number of bins to either side from which H' is estimated. One suffices without
// noise; more average the noise, and smooth H' as well.
const slopeReach = 2

// slopes returns H' at every bin, by weighted least squares over the bins about it. H1 at a bin
// estimates H at the centroid of the input energy in that bin,
//
//	Sxy/Sxx = H + H' Sxd/Sxx,
//
// which lies Sxd/Sxx bins away. So H' is the slope of the line through the values of H1 against
// these centroids, which are complex, with weights in proportion to Sxx that are larger for nearer
// bins. Where all energy lies at one place, as for a steady tone, the slope is undetermined and
// set to zero; D is then a multiple of X, so nothing is lost.
func (s *sums) slopes() []complex128 {
	out := make([]complex128, len(s.xx))
	for k := range out {
		var weight, square float64
		var place, h, product complex128
		for j := max(0, k-slopeReach); j <= min(len(out)-1, k+slopeReach); j++ {
			if s.xx[j] == 0 {
				continue
			}
			w := s.xx[j] * float64(slopeReach+1-max(j-k, k-j))
			p := complex(float64(j-k), 0) + s.xd[j]/complex(s.xx[j], 0)
			v := complex(w, 0) * s.xy[j] / complex(s.xx[j], 0)
			weight += w
			place += complex(w, 0) * p
			square += w * fft.Power(p)
			h += v
			product += v * complex(real(p), -imag(p))
		}
		if weight == 0 {
			continue
		}
		if spread := square - fft.Power(place)/weight; spread > 1e-9*square {
			out[k] = (product - h*complex(real(place), -imag(place))/complex(weight, 0)) / complex(spread, 0)
		}
	}
	return out
}

// leaked returns the power Σ|H' D|² of bin k: neither H X nor noise, but leakage across the ends.
func (t *resolution) leaked(k int) float64 {
	if t.total.xx[k] == 0 {
		return 0
	}
	return fft.Power(t.slopes[k]) * max(0, t.total.dd[k]-fft.Power(t.total.xd[k])/t.total.xx[k])
}

// corrected returns the cross-spectrum of bin k without leakage across the segments' ends,
// Σ X*(Y − H'D).
func (t *resolution) corrected(s *sums, k int) complex128 { return s.xy[k] - t.slopes[k]*s.xd[k] }

// correctedThrough returns the through power of bin k without leakage, Σ |Y − H'D|², where Y is the
// sum of H X, H'D and noise.
func (t *resolution) correctedThrough(k int) float64 {
	s := t.total
	if s.xx[k] == 0 {
		return s.yy[k]
	}
	h := t.corrected(s, k) / complex(s.xx[k], 0)
	m := t.slopes[k] * s.xd[k]
	return max(0, s.yy[k]-2*(real(h)*real(m)+imag(h)*imag(m))-fft.Power(t.slopes[k])*s.dd[k])
}
