package programme

import (
	"math"
	"math/cmplx"
)

const (
	// neper is one decibel in nepers.
	neper = math.Ln10 / 20
	// randomWalk is the standard deviation in nepers by which ln|H| changes over an octave.
	randomWalk = 6 * neper
	// maxDeviation is the standard uncertainty in nepers above which ln|H| is not known.
	maxDeviation = 0.1
)

// logMagnitude returns ln|H| at every bin, and the lowest and the highest bin at which it is known.
// If it is not known at any frequency, high is below low. The model is a random walk over the
// logarithm of frequency, observed in noise. The Kalman smoother gives its estimate of least
// variance (Rauch, Tung & Striebel 1965, from memory). Beyond the known band the level is held.
func (a *average) logMagnitude() (logs []float64, low, high int) {
	n := len(a.h)
	level, variance := make([]float64, n), make([]float64, n)
	least, first, best := a.reliable(), 0, math.Inf(1)
	low, high = n, 0
	for k := 1; k < n; k++ {
		if first > 0 {
			level[k], variance[k] = level[k-1], variance[k-1]+walked(k-1, k)
		}
		if a.share[k] < least {
			continue
		}
		observed, v := a.observation(k)
		if first == 0 {
			first, level[k], variance[k] = k, observed, v
			continue
		}
		gain := variance[k] / (variance[k] + v)
		level[k] += gain * (observed - level[k])
		variance[k] *= 1 - gain
	}
	for k := n - 2; k >= first && first > 0; k-- {
		ahead := variance[k] + walked(k, k+1)
		c := variance[k] / ahead
		level[k] += c * (level[k+1] - level[k])
		variance[k] += c * c * (variance[k+1] - ahead)
	}
	for k := range min(first, n) {
		level[k] = level[first]
	}
	for k, g := range a.share {
		if g >= least {
			best = min(best, variance[k])
		}
	}
	for k, g := range a.share {
		if g >= least && variance[k] <= max(maxDeviation*maxDeviation, 4*best) {
			low, high = min(low, k), k
		}
	}
	high = belowCutOff(level, high)
	for k := high + 1; k < n; k++ {
		level[k] = level[high]
	}
	return level, low, high
}

// observation returns ln|H1| of bin k alone and its variance, to which the half of the noise's
// power that is in phase with H contributes. Noise in the through recording leaves H1 unbiased. If
// all of the noise were in the direct recording, H1 would be low by the factor γ², alike in all
// bins of a third of an octave; the variance contains this as well.
func (a *average) observation(k int) (level, variance float64) {
	g := a.share[k]
	bias, alike := -math.Log(g), 0.23*float64(k)
	return math.Log(cmplx.Abs(a.h[k])), (1-g)/(2*g*a.count) + max(1, alike)*bias*bias/12
}

// reliable returns the coherence above which |H| of a bin is used. Above it H1 has little bias. It
// is lowered if more than 1 % of the information about the delay would be lost.
func (a *average) reliable() float64 {
	told := func(least float64) (sum float64) {
		for k, g := range a.share {
			if g > 0 && g >= least {
				sum += float64(k) * float64(k) * g / (1 - g)
			}
		}
		return sum
	}
	all := told(0)
	for _, least := range []float64{0.98, 0.9, 0.5} {
		if told(least) >= 0.99*all {
			return least
		}
	}
	return leastShare
}

// belowCutOff returns the highest bin below a cut-off at the top of the band: a fall of more than
// 12 dB in a twelfth of an octave. Converters have such cut-offs with linear phase; a minimum phase
// attributed to them would appear as a delay.
func belowCutOff(level []float64, high int) int {
	fall := func(k int) float64 { return level[int(float64(k)/math.Exp2(1.0/12))] - level[k] }
	k := high
	if fall(k) > 12*neper {
		for k > 1 && fall(k) > 2*neper {
			k--
		}
	}
	return k
}

// walked returns the variance of the random walk from bin i to bin k.
func walked(i, k int) float64 { return randomWalk * randomWalk * math.Log2(float64(k)/float64(i)) }
