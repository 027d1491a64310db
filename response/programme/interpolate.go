package programme

import (
	"math"
	"sync"

	"example.com/earnest/internal/sinc"
)

// The interpolator that reads the recording through the headphones on the
// direct recording's clock: a sinc of 64 taps under a Kaiser window. With β =
// 8.6 its error is −88 dB up to 0.91 of half the sample rate (Kaiser's design
// formula, 1974). It is tabulated at so many places between two samples that
// the nearest one errs by −75 dB at 20 kHz, at 48 kHz. It is for analysis
// where the noise of a microphone comes first; capture has one of 120 dB.
const (
	interpolateHalf   = 32
	interpolatePhases = 4096
	interpolateBeta   = 8.6
	interpolateTop    = 0.91 // of half the sample rate
)

type kernel [2 * interpolateHalf]float64

var kernels = sync.OnceValue(func() []kernel {
	table := make([]kernel, interpolatePhases+1)
	for p := range table {
		for i := range table[p] {
			u := float64(i-interpolateHalf+1) - float64(p)/interpolatePhases
			table[p][i] = sinc.Kernel(u, interpolateHalf, interpolateBeta)
		}
	}
	return table
})

// read fills dst with x at the places start, start + step, … times gain; what
// lies beyond its ends is zero. Clocks differ by so little that neighbours mostly
// fall alike between two samples: they are then done in pairs, which spares
// fetching the taps twice.
func read(dst, x []float64, start, step, gain float64) {
	table := kernels()
	place := func(i int) (first, phase int) {
		at := start + float64(i)*step
		base := math.Floor(at)
		return int(base) - interpolateHalf + 1, int((at-base)*interpolatePhases + 0.5)
	}
	for i := 0; i < len(dst); i++ {
		first, phase := place(i)
		k := &table[phase]
		if first < 0 || first+len(k)+1 > len(x) {
			dst[i] = gain * k.beyond(x, first)
			continue
		}
		if i+1 < len(dst) {
			if second, same := place(i + 1); second == first+1 && same == phase {
				a, b := k.two(x[first:])
				dst[i], dst[i+1] = gain*a, gain*b
				i++
				continue
			}
		}
		dst[i] = gain * k.one(x[first:])
	}
}

// one is the sum of the taps times the samples from x[0] on.
func (k *kernel) one(x []float64) float64 {
	v := (*kernel)(x)
	var a, b, c, d, e, f, g, h float64
	for j := 0; j < len(k); j += 8 {
		a += k[j] * v[j]
		b += k[j+1] * v[j+1]
		c += k[j+2] * v[j+2]
		d += k[j+3] * v[j+3]
		e += k[j+4] * v[j+4]
		f += k[j+5] * v[j+5]
		g += k[j+6] * v[j+6]
		h += k[j+7] * v[j+7]
	}
	return ((a + b) + (c + d)) + ((e + f) + (g + h))
}

// two are those from x[0] and from x[1] on.
func (k *kernel) two(x []float64) (float64, float64) {
	v := (*[2*interpolateHalf + 1]float64)(x)
	var a, b, c, d, e, f, g, h float64
	for j := 0; j < len(k); j += 4 {
		k0, k1, k2, k3 := k[j], k[j+1], k[j+2], k[j+3]
		v1, v2, v3 := v[j+1], v[j+2], v[j+3]
		a += k0 * v[j]
		e += k0 * v1
		b += k1 * v1
		f += k1 * v2
		c += k2 * v2
		g += k2 * v3
		d += k3 * v3
		h += k3 * v[j+4]
	}
	return (a + b) + (c + d), (e + f) + (g + h)
}

// beyond is what the taps give from index first on when some lie beyond x.
func (k *kernel) beyond(x []float64, first int) (sum float64) {
	for j, w := range k {
		if m := first + j; m >= 0 && m < len(x) {
			sum += w * x[m]
		}
	}
	return sum
}
