package fitness

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/taper"
)

// Linear prediction of each sample from the 16 before it. The weights are computed for every 512
// samples from the 1024 around them, under a Hann window, by the autocorrelation method (Levinson's
// recursion; Makhoul, Proc. IEEE 63(4), 1975). It predicts a sweep and its harmonics, a string or a
// voice down to their noise, but not a sudden disturbance. (Clicks found in this way: Vaseghi,
// Advanced Digital Signal Processing and Noise Reduction, ch. 13; from memory.)
const (
	predicted   = 16
	predictHop  = 512
	predictSpan = 2 * predictHop
	// predictBefore is the number of these before the stretch.
	predictBefore = (predictSpan - predictHop) / 2
)

// weights are those of the prediction error e[i] = Σ a[k] x[i−k], a[0] being 1.
type weights [predicted + 1]float64

// residual writes the prediction error of x[from:to] into dst; samples before x are zero.
func (a *weights) residual(dst, x []float64, from, to int) []float64 {
	dst = slices.Grow(dst[:0], to-from)[:to-from]
	clear(dst)
	for k, weight := range a {
		if first := max(from, k); first < to {
			floats.AddScaled(dst[first-from:], weight, x[first-k:to-k])
		}
	}
	return dst
}

// explained returns the share of the energy of the prediction error from x[at] on that other values
// of n samples from at on would remove: near 1 if only these samples are wrong, and the sound
// continues behind them.
func (a *weights) explained(x []float64, at, n int) float64 {
	if at < predicted || at+n+predicted > len(x) {
		return 0
	}
	e := a.residual(nil, x, at, at+n+predicted)
	change := a.mended(x, at, n)
	var left, energy float64
	for i, v := range e {
		energy += v * v
		for j, u := range change {
			if i >= j && i-j <= predicted {
				v -= a[i-j] * u
			}
		}
		left += v * v
	}
	return 1 - left/energy
}

// mended returns the errors of n samples from x[at] on: subtracting them minimises the prediction
// error of these samples and of those after them.
func (a *weights) mended(x []float64, at, n int) []float64 {
	e := a.residual(nil, x, at, at+n+predicted)
	// A change u of the samples changes the error by Σ a[i−j] u[j]: least squares, whose matrix is
	// the autocorrelation of a.
	matrix, right := make([][]float64, n), make([]float64, n)
	for j := range n {
		matrix[j] = make([]float64, n)
		for k := range n {
			for i := max(j, k); i <= min(j, k)+predicted; i++ {
				matrix[j][k] += a[i-j] * a[i-k]
			}
		}
		for i := j; i <= j+predicted; i++ {
			right[j] += a[i-j] * e[i]
		}
	}
	return solve(matrix, right)
}

// predictor holds the window and working memory.
type predictor struct {
	window, work, raw, errors []float64
	whole                     bool // errors are those of raw by the weights of the last fit: nothing was repaired
}

func newPredictor() *predictor {
	return &predictor{window: taper.Hann(predictSpan), work: make([]float64, predictSpan),
		raw: make([]float64, predictSpan)}
}

// fit returns the weights for the stretch of predictHop samples from at on. It first repairs
// samples whose error is six times the mean error, up to three times: a click as loud as the sound
// would spoil the weights that should find it.
func (p *predictor) fit(x []float64, at int) weights {
	from := at - predictBefore
	clear(p.raw)
	if a, b := max(0, from), min(len(x), from+predictSpan); a < b {
		copy(p.raw[a-from:], x[a:b])
	}
	p.whole = true
	a := p.weigh()
	for range 3 {
		p.errors = a.residual(p.errors, p.raw, predicted, predictSpan-predicted)
		var sum, peak float64
		for _, v := range p.errors {
			v = math.Abs(v)
			sum += v
			if v > peak {
				peak = v
			}
		}
		if peak < 6*sum/float64(len(p.errors)) {
			return a
		}
		p.whole = false
		for i, v := range p.errors {
			if math.Abs(v) > peak/4 {
				first := min(predicted+i, predictSpan-2*predicted)
				for j, u := range a.mended(p.raw, first, 4) {
					p.raw[first+j] -= u
				}
				break
			}
		}
		a = p.weigh()
	}
	return a
}

// errorsAt fits the weights for the stretch of predictHop samples from at on, and returns its
// prediction errors, which are valid until the next call.
func (p *predictor) errorsAt(x []float64, at int) []float64 {
	a := p.fit(x, at)
	to := min(at+predictHop, len(x))
	if p.whole { // fit has computed them
		return p.errors[predictBefore-predicted:][:to-at]
	}
	p.errors = a.residual(p.errors, x, at, to)
	return p.errors
}

// weigh returns the weights for the samples in raw.
func (p *predictor) weigh() weights {
	floats.MulTo(p.work, p.window, p.raw)
	var r weights
	for lag := range r {
		r[lag] = floats.Dot(p.work[lag:], p.work[:predictSpan-lag])
	}
	return levinson(r)
}

// levinson solves the normal equations of prediction from the autocorrelation. Noise 100 dB below
// the signal keeps them from being singular.
func levinson(r weights) weights {
	var a weights
	a[0] = 1
	e := r[0] * (1 + 1e-10)
	if e <= 0 {
		return a
	}
	for m := 1; m <= predicted; m++ {
		k := r[m]
		for j := 1; j < m; j++ {
			k += a[j] * r[m-j]
		}
		k = -k / e
		b := a
		for j := 1; j < m; j++ {
			a[j] += k * b[m-j]
		}
		a[m] = k
		if e *= 1 - k*k; e <= 0 {
			break
		}
	}
	return a
}

// solve solves a symmetric positive definite system in place by Gaussian elimination.
func solve(m [][]float64, b []float64) []float64 {
	n := len(b)
	for i := range n {
		for k := i + 1; k < n; k++ {
			f := m[k][i] / m[i][i]
			for j := i; j < n; j++ {
				m[k][j] -= f * m[i][j]
			}
			b[k] -= f * b[i]
		}
	}
	for i := n - 1; i >= 0; i-- {
		for j := i + 1; j < n; j++ {
			b[i] -= m[i][j] * b[j]
		}
		b[i] /= m[i][i]
	}
	return b
}
