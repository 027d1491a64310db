// Package delay finds the delay between two signals to a fraction of a sample, from their cross
// spectrum.
package delay

import (
	"math"
	"math/cmplx"
)

// At returns the correlation of a cross spectrum C of n samples at a lag of tau samples,
//
//	R(τ) = Re Σ C[k] exp(jωτ),  ω = 2πk/n,
//
// with its first and second derivative.
func At(cross []complex128, n int, tau float64) (height, slope, curvature float64) {
	step := 2 * math.Pi / float64(n)
	turn, next := complex(1, 0), cmplx.Rect(1, step*tau) // exp(jωτ) of the bin, and its factor from bin to bin
	for k, c := range cross {
		w, v := step*float64(k), c*turn
		height += real(v)
		slope -= w * imag(v)
		curvature -= w * w * real(v)
		turn *= next
	}
	return height, slope, curvature
}

// Peak moves a lag near a maximum of the correlation onto it, by Newton's method. It also returns
// the second derivative there, which is below zero at a maximum. If it is not, Peak returns the lag
// at which it stopped.
func Peak(cross []complex128, n int, tau float64) (lag, curvature float64) {
	for range 12 {
		var slope float64
		if _, slope, curvature = At(cross, n, tau); curvature >= 0 {
			break
		}
		step := max(-0.5, min(0.5, -slope/curvature))
		if tau += step; math.Abs(step) < 1e-6 {
			break
		}
	}
	return tau, curvature
}
