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

// average is the transfer function from all valid segments, with its weights.
type average struct {
	h      []complex128
	weight []float64    // 1/Snn of the through recording; 0 where it is not known
	ht     []complex128 // Sxy under the weights of Hannan and Thomson
	share  []float64    // γ² less what chance explains; 0 where it is not known
	count  float64      // segments
}

const (
	// settled is the movement of the line's ends in samples at which the iteration stops. mostMoves
	// bounds the number of iterations.
	settled   = 2e-3
	mostMoves = 12
	// leaning multiplies the uncertainty of the delay that the fit of the phase gives. All pieces
	// of the band depend on one magnitude, so their misfits are not independent. With this factor
	// the errors are 0.9 uncertainties rms, through 24 random chains of effects of sox and ffmpeg
	// with four materials each.
	leaning = 2
	// leastShare is the coherence below which a bin is ignored.
	leastShare = 0.1
)

// fine estimates each segment's delay relative to the delay that the average of all segments
// predicts, and moves the line onto these delays. It repeats this at least twice and until the line
// settles: where few segments dominate the average, it follows them, and the line moves only part
// of the way at a time. The prediction contains the phase of the headphones, which therefore does
// not shift the delays of segments with different spectra. fine returns the standard uncertainties
// of the line's slope and of its lag at sample 0, NaN if there are too few segments.
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
		s.wander = scatterAbout(fit, at, off, info)
		if s.wander < wanderSure*math.Sqrt(float64(len(info))/floats.Sum(info)) {
			s.wander = 0
		}
		fit.lag += offset
		move = max(math.Abs(fit.at(first)), math.Abs(fit.at(last)))
		l.lag += fit.lag
		l.slope += fit.slope
		slope, lag = math.Sqrt(cov[1]), math.Hypot(math.Sqrt(cov[0]), sigma)
	}
	return slope, lag
}

// average estimates H, the noise, and the weights of Hannan and Thomson, under which the peak of
// the cross-correlation is the maximum-likelihood delay (Knapp & Carter 1976):
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
	a := &average{h: make([]complex128, len(sum.xx)), weight: make([]float64, len(sum.xx)),
		ht:    make([]complex128, len(sum.xx)),
		share: make([]float64, len(sum.xx)), count: float64(sum.count)}
	n := a.count
	// The interpolator is accurate up to here.
	for k := 1; k < int(interpolateTop*float64(len(sum.xx))); k++ {
		g := coherence(sum.xx[k], sum.yy[k], sum.xy[k])
		if !(g > 0) {
			continue
		}
		// Subtract what n segments explain by chance. Limit the signal-to-noise ratio to 40 dB,
		// since the ends of the segments err however low the noise is.
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

// relativeDelay returns the delay of segment i in samples relative to the average, and its
// weight: the inverse of the variance that the noise alone would give it.
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

// straight returns the line through points by weighted least squares (a nil weight means 1 each).
// It also returns the variances of its lag at sample 0 and of its slope, from the scatter of the
// points about it with n − 2 degrees of freedom.
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

// scatterAbout returns the weighted root mean square of the distances from a line.
func scatterAbout(l line, at, values, weights []float64) float64 {
	var sum, weight float64
	for i, v := range values {
		d := v - l.at(at[i])
		sum, weight = sum+weights[i]*d*d, weight+weights[i]
	}
	return math.Sqrt(sum / weight)
}
