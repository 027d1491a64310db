// Package fft holds plans for the real discrete Fourier transform, and the lengths that transform
// fast.
//
// Goroutines may share a plan, and its forward and inverse transforms undo each other. Lengths that
// are even and have no prime factor above 5 (FastLen) are transformed by our own arithmetic, which
// keeps long sequences in the cache and uses every processor: transforms are most of an analysis,
// and this takes a third of gonum's time. All other lengths are gonum's (dsp/fourier).
package fft

import (
	"sync"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/hugepage"
)

// Plan transforms real sequences of one length. It is safe for concurrent use.
type Plan struct {
	n      int
	halves *halves
	pool   sync.Pool // gonum's plans for other lengths: they carry scratch memory, so each goroutine borrows one
}

// NewPlan returns a plan for sequences of n samples. It panics if n < 1.
func NewPlan(n int) *Plan {
	if n < 1 {
		panic("fft: a plan needs at least one sample")
	}
	return &Plan{n: n, halves: newHalves(n), pool: sync.Pool{New: func() any { return fourier.NewFFT(n) }}}
}

// Len returns the number of samples in a sequence.
func (p *Plan) Len() int { return p.n }

// Bins returns the number of coefficients of a one-sided spectrum, n/2 + 1.
func (p *Plan) Bins() int { return p.n/2 + 1 }

// Forward computes
//
//	X[k] = Σ x[i] exp(−j2πik/n),  k = 0 … n/2,
//
// into dst, or a new slice if dst is nil, and returns it. A sequence shorter than n is followed by
// zeros. A longer one, or a dst of the wrong length, panics.
func (p *Plan) Forward(dst []complex128, x []float64) []complex128 {
	if len(x) > p.n {
		panic("fft: sequence longer than the plan")
	}
	if dst == nil {
		dst = hugepage.Make[complex128](p.Bins())
	}
	if len(dst) != p.Bins() {
		panic("fft: destination of another length than the spectrum")
	}
	if p.halves != nil {
		p.halves.forward(dst, x)
		return dst
	}
	if len(x) < p.n {
		padded := make([]float64, p.n)
		copy(padded, x)
		x = padded
	}
	f := p.pool.Get().(*fourier.FFT)
	defer p.pool.Put(f)
	return f.Coefficients(dst, x)
}

// Inverse undoes Forward, with the division by n. It makes dst if that is nil; wrong lengths panic.
// The imaginary parts of the first bin, and of the last of an even length, are taken as zero.
func (p *Plan) Inverse(dst []float64, spectrum []complex128) []float64 {
	if len(spectrum) != p.Bins() {
		panic("fft: spectrum of another length than the plan's")
	}
	if dst == nil {
		dst = hugepage.Make[float64](p.n)
	}
	if len(dst) != p.n {
		panic("fft: destination of another length than the plan")
	}
	if p.halves != nil {
		p.halves.inverse(dst, spectrum)
		return dst
	}
	f := p.pool.Get().(*fourier.FFT)
	dst = f.Sequence(dst, spectrum)
	p.pool.Put(f)
	floats.Scale(1/float64(p.n), dst)
	return dst
}

// Frequency returns the frequency in Hz of coefficient k at a sample rate in Hz.
func (p *Plan) Frequency(k int, sampleRate float64) float64 {
	return float64(k) * sampleRate / float64(p.n)
}

// Cache keeps plans by length. A nil Cache keeps nothing and makes each plan anew.
type Cache struct{ plans sync.Map }

// Plan returns the plan for sequences of n samples.
func (c *Cache) Plan(n int) *Plan {
	if c == nil {
		return NewPlan(n)
	}
	if p, ok := c.plans.Load(n); ok {
		return p.(*Plan)
	}
	p, _ := c.plans.LoadOrStore(n, NewPlan(n))
	return p.(*Plan)
}

// Power returns |v|², the power of a coefficient.
func Power(v complex128) float64 { return real(v)*real(v) + imag(v)*imag(v) }

// FastLen returns the smallest even length of at least n that has no prime
// factor above 5.
func FastLen(n int) int {
	best := 2
	for best < n {
		best *= 2
	}
	for five := 1; five < best; five *= 5 {
		for three := five; three < best; three *= 3 {
			length := 2 * three
			for length < n {
				length *= 2
			}
			best = min(best, length)
		}
	}
	return best
}
