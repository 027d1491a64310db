// Package taper has the raised cosine, with which windows and filters rise from 0 to 1 and fall
// again.
package taper

import "math"

// Rise returns the raised cosine at x: 0 up to 0, 0.5 − 0.5 cos(πx) between, and 1 from 1 on. The
// rise over n samples is Rise((i + 0.5)/n), a fall over n is Rise((n − i − 0.5)/n).
func Rise(x float64) float64 {
	switch {
	case x <= 0:
		return 0
	case x >= 1:
		return 1
	}
	return 0.5 - 0.5*math.Cos(math.Pi*x)
}

// Hann returns a Hann window of n samples that is zero half a sample before the first and after the
// last one: 0.5 − 0.5 cos(2π(i + 0.5)/n). Windows shifted by n/2 add up to 1.
func Hann(n int) []float64 {
	w := make([]float64, n)
	for i := range w {
		w[i] = 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n))
	}
	return w
}
