package programme

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/statistic"
)

// sandwich estimates the uncertainty of an explained power from the scatter between pieces of time.
// To first order, the relative error of P = Σ |H|² Sxx is a sum over the pieces g,
//
//	δP/P = Σ_g z_g,  z_g = (2/P) Σ_k Re{H_k* (Sxy,g − H'_k Sxd,g − H_k Sxx,g)},
//
// where z_g is the part of piece g that the common filter does not explain, and H is corrected for
// leakage across the segments' ends (see segmentends.go). The variance is the sum of the squares of
// z_g: the sandwich estimate of White (1980), by clusters. It holds whatever makes the pieces
// differ (noise, distortion or a filter that changes), and whatever the correlation of bins and
// overlapping segments within a piece. A piece with much of the energy has leverage on the fit,
// which makes its residual small; so each residual is first divided by √(1 − its share of Sxx). The
// degrees of freedom are those of a sum of squares whose terms have the covariances G,
//
//	ν = (tr G)²/tr G²,
//
// where G are the covariances that steady noise would give these residuals: on the diagonal
// q_g = Σ_k |H_k|² Sxx,g, off it −Σ_k |H_k|² Sxx s_g s_h/√((1 − s_g)(1 − s_h)), with the shares s
// (R. M. Bell, D. F. McCaffrey, Survey Methodology 28, 2002; Satterthwaite 1946; all from memory).
// If few pieces have nearly all of the energy, there are accordingly few degrees of freedom.
type sandwich struct {
	all      float64   // Σ q
	z, q     []float64 // by piece
	cross    []float64 // G off its diagonal: row g has the columns below g
	leverage []float64 // scratch memory
}

func newSandwich(pieces int) *sandwich {
	return &sandwich{z: make([]float64, pieces), q: make([]float64, pieces), cross: make([]float64, pieces*pieces),
		leverage: make([]float64, pieces)}
}

// minResidual is the least value of 1 − share; below it may be rounding.
const minResidual = 1e-6

// add adds one transfer function h, of a bin or common to several bins. By piece of time, xx is its
// Sxx, and rest the part of its Sxy that the filter does not explain.
func (s *sandwich) add(h complex128, xx []float64, rest []complex128) {
	total := floats.Sum(xx)
	if total == 0 {
		return
	}
	q := fft.Power(h) * total
	s.all += q
	for g, v := range xx {
		share := v / total
		left := math.Sqrt(max(minResidual, 1-share))
		s.z[g] += (real(h)*real(rest[g]) + imag(h)*imag(rest[g])) / left
		s.q[g] += q * share
		s.leverage[g] = share / left
	}
	n := len(xx)
	for g, a := range s.leverage {
		a *= q
		row := s.cross[g*n:][:g]
		for o, b := range s.leverage[:g] {
			row[o] += a * b
		}
	}
}

// result returns the standard uncertainty in dB of an explained power, and the half width of its
// 95 % interval. The half width is NaN where the energy is so uneven that it amounts to fewer than
// two pieces. The correlation is that of the errors of neighbouring pieces.
func (s *sandwich) result(explained, correlation float64) (standard, half float64) {
	n := len(s.z)
	var variance, squares, beside float64
	for g, z := range s.z {
		variance += z * z
		squares += s.q[g] * s.q[g]
		if g > 0 {
			beside += math.Sqrt(s.q[g-1] * s.q[g])
		}
	}
	variance *= 1 + 2*correlation*beside/s.all
	standard = 10 / math.Ln10 * 2 / explained * math.Sqrt(variance)
	if !(s.all*s.all >= 2*squares) {
		return standard, math.NaN()
	}
	for g := range n {
		for _, c := range s.cross[g*n:][:g] {
			squares += 2 * c * c
		}
	}
	freedom := s.all * s.all / squares
	return standard, standard * statistic.StudentQuantile(0.975, max(1, freedom))
}

// correlation returns the correlation of the errors of neighbouring pieces, whose segments overlap.
func (t *resolution) correlation() float64 {
	if t.hop == t.n {
		return 0
	}
	return neighbours * float64(len(t.groups)) * float64(t.n) / float64(t.segments*t.hop)
}

// sandwich returns the estimate for bins that have a transfer function each, or one in common. The
// resolution is settled.
func (t *resolution) sandwich(b bins, each bool, pooled complex128) *sandwich {
	s := newSandwich(len(t.groups))
	xx, rest := make([]float64, len(t.groups)), make([]complex128, len(t.groups))
	h := pooled
	for i, w := range b.weight {
		k := b.first + i
		if t.total.xx[k] == 0 {
			continue
		}
		if each {
			clear(xx)
			clear(rest)
			h = t.corrected(t.total, k) / complex(t.total.xx[k], 0)
		}
		for g, piece := range t.groups {
			xx[g] += w * piece.xx[k]
			rest[g] += complex(w, 0) * (piece.xy[k] - h*complex(piece.xx[k], 0))
		}
		if each {
			s.add(h, xx, rest)
		}
	}
	if !each {
		s.add(h, xx, rest)
	}
	return s
}
