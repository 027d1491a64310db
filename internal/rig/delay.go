package rig

import (
	"math"
	"math/cmplx"
	"time"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/hugepage"
	"example.com/earnest/internal/interpolate"
)

// Reflection is a late copy of the sound.
type Reflection struct {
	Delay time.Duration // after the direct sound
	Level float64       // dB re the direct sound
}

// paths are the paths of a sound: delays in seconds, gains as factors.
type paths []path

// newPaths returns the direct sound, delayed, and its reflections.
func newPaths(delay time.Duration, reflections []Reflection) paths {
	p := paths{{delay.Seconds(), 1}}
	for _, r := range reflections {
		p = append(p, path{(delay + r.Delay).Seconds(), factor(r.Level)})
	}
	return p
}

// then returns p followed by q.
func (p paths) then(q paths) paths {
	var all paths
	for _, a := range p {
		for _, b := range q {
			all = append(all, path{a.delay + b.delay, a.gain * b.gain})
		}
	}
	return all
}

// response returns Σ g exp(−j2πf d).
func (p paths) response(f float64) complex128 {
	var h complex128
	for _, a := range p {
		h += cmplx.Rect(a.gain, -2*math.Pi*f*a.delay)
	}
	return h
}

// taps returns the FIR filter of the paths, each a windowed sinc at its delay. The first tap is at
// index first, which may be negative.
func (p paths) taps(sampleRate float64) (taps []float64, first int) {
	low, high := math.Inf(1), math.Inf(-1)
	for _, a := range p {
		low, high = min(low, a.delay*sampleRate), max(high, a.delay*sampleRate)
	}
	first = int(math.Floor(low)) - sincHalf
	taps = make([]float64, int(math.Ceil(high))+sincHalf-first+1)
	for _, a := range p {
		for i := range taps {
			// A delay that is a whole number of samples except for rounding is taken as whole.
			x := float64(first+i) - a.delay*sampleRate
			if math.Abs(x-math.Round(x)) < 1e-9 {
				x = math.Round(x)
			}
			if math.Abs(x) < sincHalf && (x == 0 || x != math.Trunc(x)) {
				taps[i] += a.gain * interpolate.Sinc(x) * interpolate.Kaiser(x/sincHalf, sincBeta)
			}
		}
	}
	return taps, first
}

// apply returns n samples of x along the paths.
func (p paths) apply(x []float64, n int, sampleRate float64) []float64 {
	taps, first := p.taps(sampleRate)
	for len(taps) > 1 && taps[0] == 0 {
		taps, first = taps[1:], first+1
	}
	for len(taps) > 1 && taps[len(taps)-1] == 0 {
		taps = taps[:len(taps)-1]
	}
	return convolve(x, taps, first, n)
}

type path struct{ delay, gain float64 }

// convolve returns y[i] = Σ taps[j] x[i − first − j], i = 0 … n−1, x being zero
// outside itself, by overlap-save.
func convolve(x, taps []float64, first, n int) []float64 {
	y := hugepage.Make[float64](n)
	if len(taps) == 1 {
		for i := max(0, first); i < min(n, len(x)+first); i++ {
			y[i] = taps[0] * x[i-first]
		}
		return y
	}
	plan := fft.NewPlan(fft.FastLen(max(4096, 8*len(taps))))
	kernel := plan.Forward(nil, taps)
	bins, window := make([]complex128, plan.Bins()), make([]float64, plan.Len())
	fresh := plan.Len() - len(taps) + 1
	for start := 0; start < n; start += fresh {
		clear(window)
		from := start - first - (len(taps) - 1)
		if a, b := max(0, from), min(len(x), from+len(window)); a < b {
			copy(window[a-from:], x[a:b])
		}
		plan.Forward(bins, window)
		for k, v := range kernel {
			bins[k] *= v
		}
		plan.Inverse(window, bins)
		copy(y[start:], window[len(taps)-1:])
	}
	return y
}
