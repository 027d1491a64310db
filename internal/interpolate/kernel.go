// Package interpolate reads a band-limited signal between its samples: by the sinc function under a
// Kaiser window, and at a peak by a parabola.
package interpolate

import "math"

// Kernel returns sin(πu)/(πu), u being the distance in samples from the place that is read, under a
// Kaiser window that ends half samples away,
//
//	I0(β sqrt(1 − (u/half)²)) / I0(β)
//
// with I0 the modified Bessel function of order zero (J. F. Kaiser, 1974, from memory). A larger β
// gives a smaller error and a narrower band.
func Kernel(u, half, beta float64) float64 {
	return Sinc(u) * Kaiser(u/half, beta)
}

// Sinc returns sin(πu)/(πu), 1 at 0.
func Sinc(u float64) float64 {
	if u == 0 {
		return 1
	}
	return math.Sin(math.Pi*u) / (math.Pi * u)
}

// Kaiser returns the Kaiser window at x: 1 at 0, and 0 from −1 and 1 on.
func Kaiser(x, beta float64) float64 {
	if x*x >= 1 {
		return 0
	}
	return bessel0(beta*math.Sqrt(1-x*x)) / bessel0(beta)
}

// Beta returns the β of a Kaiser window for an attenuation in dB, 50 and more (Kaiser 1974).
func Beta(attenuation float64) float64 { return 0.1102 * (attenuation - 8.7) }

// bessel0 returns I0 by its power series (DLMF 10.25.2).
func bessel0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-17*sum; k++ {
		term *= x * x / (4 * k * k)
		sum += term
	}
	return sum
}
