package programme

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/delay"
	"example.com/earnest/internal/fft"
)

// average is what all segments that count say together.
type average struct {
	h      []complex128
	weight []float64 // 1/Snn of the through recording; 0 where nothing is known
	ht     []complex128
	share  []float64 // γ², freed from chance; 0 where nothing is known
	count  float64   // segments
}

const (
	// settled is by how much in samples the line may still move at its ends, and
	// mostMoves how often it is moved before that.
	settled   = 2e-3
	mostMoves = 12
	// leaning widens what the fit of the phase says its delay is uncertain by. Its pieces lean on
	// one magnitude, so what they miss is not independent. With it the errors through 24 chains of
	// effects of sox and ffmpeg drawn at random, four materials each, are 0.9 uncertainties rms.
	leaning = 2
	// leastShare is the coherence below which a bin does not count.
	leastShare = 0.1
)

// fine takes each segment's delay relative to what the average of all segments
// predicts, twice and until the line, moved onto the delays each time, settles.
// Where few segments have nearly all the energy the average follows them, and the
// line goes only part of the way at a time.
// The headphones' own phase is in the prediction and so does not move the delays of
// segments with different spectra. It returns the standard uncertainties of the
// line's slope and of its lag at sample 0; NaN where there are too few
// segments.
func (s *segments) fine(l *line) (slope, lag float64) {
	slope, lag = math.NaN(), math.NaN()
	first, last := s.middle(0), s.middle(len(s.starts)-1)
	for move, moves := math.Inf(1), 0; moves < 2 || move > settled && moves < mostMoves; moves++ {
		s.place(*l)
		avg := s.average()
		offset, sigma := s.groupDelay(avg)
		sigma = math.Hypot(leaning*sigma, settled)
		if s.used() < 3 {
			l.lag += offset
			move, lag = math.Abs(offset), sigma
			continue
		}
		var at, off, info []float64
		for i, v := range s.lag {
			if math.IsNaN(v) {
				continue
			}
			d, w := s.relativeDelay(i, avg)
			at, off, info = append(at, s.middle(i)), append(off, d), append(info, w)
		}
		fit, cov := straight(at, off, info)
		fit.lag += offset
		move = max(math.Abs(fit.at(first)), math.Abs(fit.at(last)))
		l.lag += fit.lag
		l.slope += fit.slope
		slope, lag = math.Sqrt(cov[1]), math.Hypot(math.Sqrt(cov[0]), sigma)
	}
	return slope, lag
}

// average forms H, the noise, and the weights of Hannan and Thomson, with which
// the cross-correlation's peak is the maximum-likelihood delay (Knapp & Carter
// 1976):
//
//	ψ(ω) = γ²/(1 − γ²) / |Sxy|.
func (s *segments) average() *average {
	sum := newSums(s.plan.Len())
	for i, v := range s.lag {
		if math.IsNaN(v) {
			continue
		}
		sum.count++
		for k, x := range s.x[i] {
			y := s.y[i][k]
			sum.xx[k] += fft.Power(x)
			sum.yy[k] += fft.Power(y)
			sum.xy[k] += y * complex(real(x), -imag(x))
		}
	}
	a := &average{h: make([]complex128, len(sum.xx)), weight: make([]float64, len(sum.xx)), ht: make([]complex128, len(sum.xx)),
		share: make([]float64, len(sum.xx)), count: float64(sum.count)}
	n := a.count
	// Up to where the interpolator is right.
	for k := 1; k < int(interpolateTop*float64(len(sum.xx))); k++ {
		g := coherence(sum.xx[k], sum.yy[k], sum.xy[k])
		if !(g > 0) {
			continue
		}
		// A bin that n segments match by chance does not count; one that they
		// match exactly counts for no more than 40 dB of signal over noise, for
		// the segments' ends are not the noise's.
		g = min((n*g-1)/(n-1), 1-1e-4)
		if n < 2 {
			g = 0.5
		}
		if g < leastShare {
			continue
		}
		a.share[k] = g
		a.h[k] = sum.xy[k] / complex(sum.xx[k], 0)
		a.weight[k] = n / (sum.yy[k] * (1 - g))
		a.ht[k] = sum.xy[k] / complex(math.Sqrt(fft.Power(sum.xy[k])), 0) * complex(g/(1-g), 0)
	}
	return a
}

// relativeDelay is that of segment i relative to the average in samples, and its weight: the
// inverse variance that the noise alone would give it.
func (s *segments) relativeDelay(i int, a *average) (lag, info float64) {
	cross := make([]complex128, len(a.h))
	for k, w := range a.weight {
		if w > 0 {
			cross[k] = complex(w, 0) * s.y[i][k] * cmplx.Conj(a.h[k]*s.x[i][k])
		}
	}
	d, _ := delay.Peak(cross, s.plan.Len(), 0)
	for k, w := range a.weight {
		omega := 2 * math.Pi * float64(k) / float64(s.plan.Len())
		info += 2 * w * omega * omega * fft.Power(a.h[k]) * fft.Power(s.x[i][k])
	}
	return d, info
}

// straight returns the line through points with a weight each (nil: 1 each) by least squares,
// and the variances of its lag at sample 0 and of its slope, from the scatter of the points
// about it with n − 2 degrees of freedom.
func straight(at, lag, weight []float64) (l line, variance [2]float64) {
	if weight == nil {
		weight = slices.Repeat([]float64{1}, len(at))
	}
	l.lag, l.slope = stat.LinearRegression(at, lag, weight, false)
	centre, spread := stat.PopMeanVariance(at, weight)
	sum := floats.Sum(weight)
	var residual float64
	for i, x := range at {
		r := lag[i] - l.at(x)
		residual += weight[i] * r * r
	}
	residual /= sum * float64(max(1, len(at)-2))
	return l, [2]float64{residual + residual*centre*centre/spread, residual / spread}
}
