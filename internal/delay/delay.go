// Package delay finds the delay between two signals to a fraction of a sample, from their cross
// spectrum.
package delay

import "math"

// At returns the correlation of a cross spectrum C of n samples at a lag of tau samples,
//
//	R(τ) = Re Σ C[k] exp(jωτ),  ω = 2πk/n,
//
// with its first and second derivative. Bins that are zero cost no time.
func At(cross []complex128, n int, tau float64) (height, slope, curvature float64) {
	for k, c := range cross {
		if c == 0 {
			continue
		}
		w := 2 * math.Pi * float64(k) / float64(n)
		sin, cos := math.Sincos(w * tau)
		v := real(c)*cos - imag(c)*sin
		height += v
		slope -= w * (real(c)*sin + imag(c)*cos)
		curvature -= w * w * v
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
