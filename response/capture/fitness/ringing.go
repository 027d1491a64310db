package fitness

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/taper"
)

// A sharp resonance of the device goes on to sound after the sweep has passed it, as one frequency
// that decays exponentially. Its amplitudes z in successive windows of the response differ by one
// complex factor,
//
//	z(t + Δ) = q z(t),  |q| < 1,
//
// from ringFrom seconds after the response's beginning to ringTo, and are not there before it.
// Another sound has no such factor, or was there before; a steady one does not decay.
const (
	ringFrom, ringTo = 0.05, 0.4
	ringPeriods      = 6    // in a window, which is ringLongest seconds long at most
	ringLongest      = 0.12 // s
	ringFewest       = 4    // windows
	ringDecays       = 4.0  // dB per second at least: 60 dB within 15 s
	ringSure         = 3    // standard uncertainties
	ringExact        = 0.35 // largest deviation of an amplitude from the factor, as a share
	ringAbove        = 10   // power of an amplitude re the noise, at least
	ringBefore       = 0.5  // amplitude before the response re the first one, at most
)

// rings reports whether the response to the sweep rings on at a frequency in Hz.
func (c *channel) rings(f float64, still *spectrum) bool {
	own, s := c.swept(), c.Stimulus.Sweep()
	n := int(min(ringPeriods/f, ringLongest) * c.fs)
	window := taper.Hann(n)
	var energy float64
	for _, w := range window {
		energy += w * w
	}
	level := s.SpectrumLevel(f)
	noise := energy * max(stat.Mean(still.around(f, math.Sqrt(thirdOctave), 4), nil), c.step*c.step/12) / (level * level)
	first, hop := int((linearBefore+ringFrom)*c.fs), n/2
	last := min(len(own.linear)-n, int((linearBefore+ringTo)*c.fs))
	amplitude := func(x []float64, at int) complex128 {
		var sum complex128
		turn, phasor := cmplx.Rect(1, -2*math.Pi*f/c.fs), cmplx.Rect(1, -2*math.Pi*f/c.fs*float64(at))
		for i, w := range window {
			sum += complex(w*x[at+i], 0) * phasor
			phasor *= turn
		}
		return sum
	}
	var z []complex128
	for at := first; at <= last; at += hop {
		one := amplitude(own.linear, at)
		if fft.Power(one) < ringAbove*noise {
			return false // it is over
		}
		z = append(z, one)
	}
	if len(z) < ringFewest {
		return false
	}
	before := own.near
	if missing := n - len(before); missing > 0 {
		before = append(make([]float64, missing), before...)
	}
	for at := 0; at+n <= len(before); at += hop {
		if cmplx.Abs(amplitude(before, at)) > ringBefore*cmplx.Abs(z[0]) {
			return false
		}
	}
	var factor complex128 // the mean, so that each window has the same weight
	for i := range z[1:] {
		factor += z[i+1] / z[i] / complex(float64(len(z)-1), 0)
	}
	// Of a line through the levels of n windows, each uncertain by u, the fall over all of them is
	// uncertain by √(12/n) u.
	lasts, windows := float64((len(z)-1)*hop)/c.fs, float64(len(z))
	softest := z[len(z)-1]
	u := decibel.PerNeper * math.Sqrt(noise/2/fft.Power(softest)) * math.Sqrt(12/windows)
	if !(-dBFS(cmplx.Abs(factor))*(windows-1) > max(ringDecays*lasts, ringSure*u)) {
		return false
	}
	for i := range z[1:] {
		if cmplx.Abs(z[i+1]/z[i]-factor) > ringExact*cmplx.Abs(factor) {
			return false
		}
	}
	return true
}
