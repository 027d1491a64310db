// Package sinc is the kernel that reads a band-limited signal between its
// samples: the sinc function under a Kaiser window.
package sinc

import "math"

// Kernel is sin(πu)/(πu) at u samples from the place that is read, under a
// Kaiser window that ends half samples away,
//
//	I0(β sqrt(1 − (u/half)²)) / I0(β)
//
// with I0 the modified Bessel function of order zero (J. F. Kaiser, 1974, from
// memory). A larger β leaves less error and passes a narrower band.
func Kernel(u, half, beta float64) float64 {
	x := u / half
	if x*x >= 1 {
		return 0
	}
	w := bessel0(beta*math.Sqrt(1-x*x)) / bessel0(beta)
	if u == 0 {
		return w
	}
	return w * math.Sin(math.Pi*u) / (math.Pi * u)
}

// bessel0 is I0 by its power series.
func bessel0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-17*sum; k++ {
		term *= (x / 2 / k) * (x / 2 / k)
		sum += term
	}
	return sum
}
