package rig

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/fft"
)

// The low-pass before and behind the polynomial, in units of the sample rate to which it returns:
// flat to passEdge, nothing from stopEdge on. 641 taps at four times the rate under a Kaiser window
// of 120 dB (Kaiser 1974: β = 0.1102 (A − 8.7), taps = (A − 7.95)/(14.36 Δf)).
const (
	passEdge  = 0.45
	stopEdge  = 0.5
	lowPassK  = 80 // half the taps, in samples of the lower rate
	stopLevel = 120.0
)

// inaudible is the peak below which a block is not distorted: its square is 320 dB down.
const inaudible = 1e-8

// oversampler evaluates a polynomial at four times the sample rate, block by block. Both filters
// are one FIR filter, by overlap-save: zeros between the samples and low-pass; the polynomial;
// low-pass and every fourth sample. It is safe for concurrent use.
//
// The four samples that replace each sample are the outputs of four filters at the lower rate, each
// of every fourth tap (polyphase). So no transform is longer than a block. Two of the four go
// through one complex transform, as its real and its imaginary parts.
type oversampler struct {
	real *fft.Plan
	both *fft.Complex
	// pairs are the spectra of two filters as real and imaginary parts, over the length of the
	// block.
	pairs [2][]complex128
}

// oversampledBlock is the length of a block in samples of the lower rate, of which all but 4
// lowPassK are new.
const oversampledBlock = 4096

func newOversampler() *oversampler {
	const n = oversampledBlock
	o := &oversampler{real: fft.NewPlan(n), both: fft.NewComplex(n)}
	taps := oversamplersLowPass()
	for pair := range o.pairs {
		filters := make([]complex128, n)
		for i, v := range taps {
			at := i - 4*lowPassK + 4*n // in samples of the higher rate, around zero
			// Three of four samples are zeros, which takes three quarters of the level; the
			// transform and its inverse multiply by n.
			switch tap := 4 * v / n; at%4 - 2*pair {
			case 0:
				filters[at/4%n] = complex(tap, imag(filters[at/4%n]))
			case 1:
				filters[at/4%n] = complex(real(filters[at/4%n]), tap)
			}
		}
		o.both.Transform(filters)
		o.pairs[pair] = filters
	}
	return o
}

// distort adds P(x) to x.
func (o *oversampler) distort(x []float64, p Polynomial) {
	if p == (Polynomial{}) {
		return
	}
	n := o.real.Len()
	margin := 2 * lowPassK // for both filters, at each end
	window, spectrum := make([]float64, n), make([]complex128, o.real.Bins())
	folded, fast := make([]complex128, o.real.Bins()), make([]complex128, n)
	// The samples before the block are needed as they were before the distortion.
	past := make([]float64, margin)
	for start := 0; start < len(x); start += n - 2*margin {
		end := min(start+n-2*margin, len(x))
		copy(window, past)
		filled := margin + copy(window[margin:], x[start:])
		clear(window[filled:])
		copy(past, window[n-2*margin:n-margin])
		if floats.Norm(window, math.Inf(1)) < inaudible {
			continue
		}
		o.real.Forward(spectrum, window)
		clear(folded)
		for pair := range o.pairs {
			o.up(fast, spectrum, pair)
			for i, v := range fast {
				fast[i] = complex(p.At(real(v)), p.At(imag(v)))
			}
			o.down(folded, fast, pair)
		}
		o.real.Inverse(window, folded)
		for i := start; i < end; i++ {
			x[i] += window[margin+i-start]
		}
	}
}

// up fills fast with two of the four samples for each sample of a block with a spectrum: those of
// the pair's filters. lowPassK samples at each end of the block are wrong, since it is taken as
// circular.
func (o *oversampler) up(fast, spectrum []complex128, pair int) {
	filters, n := o.pairs[pair], len(fast)
	// The conjugate of the transform of the conjugate is the inverse transform, times n.
	for k, v := range spectrum {
		fast[k] = conj(v * filters[k])
	}
	for k := n/2 + 1; k < n; k++ {
		fast[k] = spectrum[n-k] * conj(filters[k])
	}
	o.both.Transform(fast)
	for i, v := range fast {
		fast[i] = conj(v)
	}
}

// down low-passes a block, keeps every fourth sample, and adds the spectrum of the result: the part
// that a pair of bins contributes. It overwrites fast. The filters of down are those of up,
// reversed.
func (o *oversampler) down(spectrum, fast []complex128, pair int) {
	const n = oversampledBlock
	const scale = n / 8.0 // undoes the 4/n of up, and half for the real part
	filters := o.pairs[pair]
	o.both.Transform(fast)
	for k := range spectrum {
		mirror := (n - k) % n
		v, w := fast[k]*conj(filters[k]), conj(fast[mirror])*filters[mirror]
		spectrum[k] += complex(scale*(real(v)+real(w)), scale*(imag(v)+imag(w)))
	}
}

// oversamplersLowPass returns the filter at four times the rate.
func oversamplersLowPass() []float64 {
	return sincLowPass((passEdge+stopEdge)/2/4, 4*lowPassK, stopLevel)
}

func conj(v complex128) complex128 { return complex(real(v), -imag(v)) }
