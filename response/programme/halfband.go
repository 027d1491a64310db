package programme

import (
	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/interpolate"
)

// halfBand is the filter before decimation by two: a windowed sinc of 31 taps, β = 10, whose even
// taps are zero. It passes up to 0.14 of the sample rate within 0.001 dB. It attenuates by 100 dB
// from 0.36 on, the frequencies that fold back below 0.14. Frequencies between are not used.
var halfBand = func() (odd [8]float64) {
	for i := range odd {
		u := float64(2*i + 1)
		odd[i] = 0.5 * interpolate.Kernel(u/2, 8, 10)
	}
	// A constant passes unchanged: the middle tap gives one half, these taps the other.
	floats.Scale(0.25/floats.Sum(odd[:]), odd[:])
	return odd
}()

// halve returns x at half its rate, where sample m is at the time of x[2m]. It uses the memory of
// dst if that suffices.
func halve(dst, x []float64) []float64 {
	const reach = 2*len(halfBand) - 1
	h := halfBand
	dst = grown(dst, (len(x)+1)/2)
	for m := range dst {
		c := 2 * m
		v := 0.5 * x[c]
		if c < reach || c+reach >= len(x) {
			for i, w := range h {
				if j := c - 2*i - 1; j >= 0 {
					v += w * x[j]
				}
				if j := c + 2*i + 1; j < len(x) {
					v += w * x[j]
				}
			}
			dst[m] = v
			continue
		}
		s := (*[2*reach + 1]float64)(x[c-reach:])
		v += h[0]*(s[reach-1]+s[reach+1]) + h[1]*(s[reach-3]+s[reach+3]) + h[2]*(s[reach-5]+s[reach+5]) +
			h[3]*(s[reach-7]+s[reach+7])
		v += h[4]*(s[reach-9]+s[reach+9]) + h[5]*(s[reach-11]+s[reach+11]) + h[6]*(s[reach-13]+s[reach+13]) +
			h[7]*(s[reach-15]+s[reach+15])
		dst[m] = v
	}
	return dst
}
