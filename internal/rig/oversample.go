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
type oversampler struct {
	slow, fast *fft.Plan
	gain       []float64 // the zero-phase low-pass on the bins of fast
}

// oversampledBlock is the length of a block in samples of the lower rate, of which all but 4
// lowPassK are new.
const oversampledBlock = 4096

func newOversampler() *oversampler {
	o := &oversampler{slow: fft.NewPlan(oversampledBlock), fast: fft.NewPlan(4 * oversampledBlock)}
	taps := oversamplersLowPass()
	ring := make([]float64, o.fast.Len())
	for i, v := range taps {
		ring[(i-4*lowPassK+len(ring))%len(ring)] = v
	}
	o.gain = make([]float64, o.fast.Bins())
	for k, v := range o.fast.Forward(nil, ring) {
		o.gain[k] = real(v)
	}
	return o
}

// distort adds P(x) to x.
func (o *oversampler) distort(x []float64, p Polynomial) {
	if p == (Polynomial{}) {
		return
	}
	n := o.slow.Len()
	margin := 2 * lowPassK // for both filters, at each end
	window, fast := make([]float64, n), make([]float64, o.fast.Len())
	slowBins, fastBins := make([]complex128, o.slow.Bins()), make([]complex128, o.fast.Bins())
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
		o.up(fast, window, slowBins, fastBins)
		for i, v := range fast {
			fast[i] = p.At(v)
		}
		o.down(window, fast, slowBins, fastBins)
		for i := start; i < end; i++ {
			x[i] += window[margin+i-start]
		}
	}
}

// up fills fast with the slow samples interpolated. lowPassK samples at each end of slow are wrong,
// since the block is taken as circular.
func (o *oversampler) up(fast, slow []float64, slowBins, fastBins []complex128) {
	o.slow.Forward(slowBins, slow)
	n := o.slow.Len()
	for k := range fastBins {
		// Zeros between the samples repeat the spectrum.
		r, v := k%n, complex128(0)
		if r <= n/2 {
			v = slowBins[r]
		} else {
			v = conj(slowBins[n-r])
		}
		g := 4 * o.gain[k]
		fastBins[k] = complex(g*real(v), g*imag(v))
	}
	o.fast.Inverse(fast, fastBins)
}

// down fills slow with the low-passed every fourth of fast.
func (o *oversampler) down(slow, fast []float64, slowBins, fastBins []complex128) {
	o.fast.Forward(fastBins, fast)
	for k, g := range o.gain {
		fastBins[k] = complex(g/4*real(fastBins[k]), g/4*imag(fastBins[k]))
	}
	n := o.slow.Len()
	for k := range slowBins {
		// Decimation adds the four quarters of the spectrum.
		slowBins[k] = fastBins[k] + fastBins[n+k] + conj(fastBins[2*n-k]) + conj(fastBins[n-k])
	}
	o.slow.Inverse(slow, slowBins)
}

// oversamplersLowPass returns the filter at four times the rate.
func oversamplersLowPass() []float64 {
	return sincLowPass((passEdge+stopEdge)/2/4, 4*lowPassK, stopLevel)
}

func conj(v complex128) complex128 { return complex(real(v), -imag(v)) }
