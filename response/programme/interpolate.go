package programme

import (
	"math"
	"sync"

	"example.com/earnest/internal/interpolate"
)

// The recording through the headphones is read on the direct recording's clock by a windowed sinc
// of as many taps as a band takes. Up to the band's end f its error is −88 dB: what is above half
// the sample rate has to be gone from fs − f on, which takes
//
//	(A − 8) / (2.285 · 2π (fs − 2f)/fs)
//
// taps for A dB (Kaiser's design formula, 1974, from memory). The nearest of its places between two
// samples has an error of −75 dB at 20 kHz, at 48 kHz. That suffices for an analysis where the noise
// of a microphone comes first; package capture has an interpolator of 120 dB.
const (
	interpolatePhases = 4096
	interpolateDown   = 88   // dB
	interpolateTop    = 0.91 // of half the sample rate, the most that a band may take
	// leastHalf and mostHalf bound the taps to one side, of which there are an even number.
	leastHalf, mostHalf = 4, 32
)

// interpolators are made when they are first asked for, by half of their taps.
var interpolators = func() (all [mostHalf/2 + 1]func() *interpolate.Table) {
	for i := range all {
		all[i] = sync.OnceValue(func() *interpolate.Table {
			return interpolate.NewTable(2*i, interpolatePhases, interpolate.Beta(interpolateDown))
		})
	}
	return all
}()

// interpolatorFor returns the table for a band that ends at the fraction top of half the sample rate.
func interpolatorFor(top float64) *interpolate.Table {
	taps := (interpolateDown - 8) / (2.285 * 2 * math.Pi * (1 - top))
	half := max(leastHalf, 2*int(math.Ceil(taps/4)))
	return interpolators[min(half, mostHalf)/2]()
}

// read fills dst with x at the places start, start + step, … times gain.
func read(dst, x []float64, t *interpolate.Table, start, step, gain float64) {
	for i := range dst {
		dst[i] = gain * t.Nearest(x, start+float64(i)*step)
	}
}
