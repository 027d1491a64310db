package rig

import (
	"math"
	"math/cmplx"
	"slices"
)

// The measurements of these tests use steady tones of whole numbers of hertz, and the one bin of a
// discrete Fourier transform for each of them, but nothing of the library's own analysis.

const fs = 48000

// roots are the points of the unit circle for a tone of a whole number of hertz, at each sample.
var roots = func() []complex128 {
	r := make([]complex128, fs)
	for i := range r {
		r[i] = cmplx.Rect(1, 2*math.Pi*float64(i)/fs)
	}
	return r
}()

// tones returns the sum of sines amplitude·sin(2πft), of n samples.
func tones(n int, amplitude float64, frequencies ...float64) []float64 {
	x := make([]float64, n)
	for _, f := range frequencies {
		for i := range x {
			x[i] += amplitude * imag(roots[int(f)*i%fs])
		}
	}
	return x
}

// lastSecond returns the phasor H of Im(H exp(j2πft)) in the second of x that ends before sample
// end.
func lastSecond(x []float64, end int, f float64) complex128 {
	var sum complex128
	for i := end - fs; i < end; i++ {
		sum += complex(x[i], 0) * cmplx.Conj(roots[int(f)*i%fs])
	}
	if f == 0 {
		return sum / fs
	}
	return sum * 2i / fs
}

func dB(h complex128) float64 { return 20 * math.Log10(cmplx.Abs(h)) }

func rms(x []float64) float64 {
	var sum float64
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum / float64(len(x)))
}

// stereo returns a stimulus with x on one side.
func stereo(x []float64, side Side) [][]float64 {
	channels := [][]float64{make([]float64, len(x)), make([]float64, len(x))}
	channels[side] = x
	return channels
}

// same reports whether two recordings hold the same samples.
func same(a, b [][]float64) bool { return slices.EqualFunc(a, b, slices.Equal[[]float64]) }
