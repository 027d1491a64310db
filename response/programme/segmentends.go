package programme

import "example.com/earnest/internal/fft"

// What falls across the ends of segments. A segment of y is not what the filter
// makes of the segment of x, for the filter rings across its ends. To first
// order in the length of the ring over that of the segment,
//
//	Y = H X + H' D,
//
// H' being dH/dk, per bin, and D the transform of x under the window's slope, here
// the sine (n/2π) dw/dt, times j: with τ the moments of the impulse response,
// w(t) = w(t − τ) + τ w'(t − τ), and Σ τ h(τ) exp(−jωτ) = j dH/dω. (R. Pintelon,
// J. Schoukens, System Identification, 2nd ed. 2012, ch. 7, where the same
// is done by local polynomials; J. Antoni, J. Schoukens, Automatica 43, 2007,
// for the bias that is left without; both from memory.)
//
// This is the same whatever the noise, and no part of what is uncertain: it comes off
// the residuals, and counts as explained.

// slopeReach is how many bins to either side H' is taken from. One is enough
// without noise; more smooths it, and rounds it off.
const slopeReach = 2

// slopes are H' on every bin, by weighted least squares from the bins about it.
// What H1 of a bin says of H holds where the energy that it saw lies:
//
//	Sxy/Sxx = H + H' Sxd/Sxx,
//
// Sxd/Sxx bins away. So H' is the slope of the straight line through these
// H1 against these places, which are complex, each weighing as much as its Sxx, and
// the nearer ones more. Where all energy lies at one place, as for a steady tone,
// there is no telling, and no need: D is a multiple of X there.
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

// leaked is the power Σ|H' D|² of bin k that H X cannot explain; it is no noise.
func (t *resolution) leaked(k int) float64 {
	if t.total.xx[k] == 0 {
		return 0
	}
	return fft.Power(t.slopes[k]) * max(0, t.total.dd[k]-fft.Power(t.total.xd[k])/t.total.xx[k])
}

// whole is bin k of s without what falls across the segments' ends: Σ X*(Y − H'D).
func (t *resolution) corrected(s *sums, k int) complex128 { return s.xy[k] - t.slopes[k]*s.xd[k] }

// correctedThrough is Σ |Y − H'D|² of bin k, Y being H X + H'D and noise.
func (t *resolution) correctedThrough(k int) float64 {
	s := t.total
	if s.xx[k] == 0 {
		return s.yy[k]
	}
	h := t.corrected(s, k) / complex(s.xx[k], 0)
	m := t.slopes[k] * s.xd[k]
	return max(0, s.yy[k]-2*(real(h)*real(m)+imag(h)*imag(m))-fft.Power(t.slopes[k])*s.dd[k])
}
