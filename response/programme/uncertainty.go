package programme

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"example.com/earnest/internal/fft"
)

// spread says how uncertain the power of an estimate is from how much the
// pieces of time differ. To first order P = Σ |H|² Sxx errs by
//
//	δP/P = Σ_g z_g,  z_g = (2/P) Σ_k Re{H_k* (Sxy,g − H'_k Sxd,g − H_k Sxx,g)},
//
// g being the pieces, H taken without what falls across the segments' ends (see
// leakage.go): what each piece has that the common filter does not explain.
// The sum of their squares is its variance, whatever makes them differ, noise,
// distortion or a filter that changes, and however the bins and the overlapping segments
// within a piece hang together: the sandwich estimate of White (1980), by
// clusters. As the fit leans on a piece that has much of the energy, which makes its
// residual small, each is divided by √(1 − its share of Sxx) first. The degrees of freedom
// are those of a sum of squares whose parts have the covariances G,
//
//	ν = (tr G)²/tr G²,
//
// G being what steady noise would give these residuals: q_g = Σ_k |H_k|² Sxx,g on the
// diagonal, −Σ_k |H_k|² Sxx s_g s_h/√((1 − s_g)(1 − s_h)) off it, s the shares
// (R. M. Bell, D. F. McCaffrey, Survey Methodology 28, 2002; Satterthwaite 1946;
// all from memory). Few pieces that have nearly all of the energy so count as few.
type sandwich struct {
	all      float64   // Σ q
	z, q     []float64 // by piece
	cross    []float64 // G off its diagonal: row g has the columns below g
	leverage []float64 // scratch memory
}

func newSandwich(pieces int) *sandwich {
	return &sandwich{z: make([]float64, pieces), q: make([]float64, pieces), cross: make([]float64, pieces*pieces), leverage: make([]float64, pieces)}
}

// minResidual is the least of 1 − share; what is below may be rounding.
const minResidual = 1e-6

// add adds one transfer function h: a bin's, or one that bins have in common. xx
// and rest are, by piece, its Sxx and what of Sxy the filter does not explain.
func (s *sandwich) add(h complex128, xx []float64, rest []complex128) {
	var total float64
	for _, v := range xx {
		total += v
	}
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

// result is the standard uncertainty in dB of an explained power, and the half width
// of the interval that holds the truth with 95 %. The half width is NaN where the
// energy is so uneven that there are fewer than two pieces' worth of it. Neighbouring
// pieces have a correlation.
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
	return standard, standard * distuv.StudentsT{Sigma: 1, Nu: max(1, freedom)}.Quantile(0.975)
}

// correlation is that of the errors of neighbouring pieces, whose segments overlap.
func (t *resolution) correlation() float64 {
	if t.hop == t.n {
		return 0
	}
	return neighbours * float64(len(t.groups)) * float64(t.n) / float64(t.segments*t.hop)
}

// spread is for the bins, each with a transfer function of its own, or all with
// the one given.
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
			rest[g] += complex(w, 0) * (t.corrected(piece, k) - h*complex(piece.xx[k], 0))
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
