package programme

import (
	"math"
	"sync"

	"example.com/earnest/internal/interpolate"
)

// A windowed sinc reads the through recording on the clock of the direct one. Its number of taps
// depends on the band. For an error of −A dB up to a frequency f, its transition has to end at fs −
// f, which takes
//
//	(A − 8) / (2.285 · 2π (fs − 2f)/fs)
//
// taps (Kaiser's design formula, 1974, from memory); here A is 88. Rounding to the nearest of its
// phases has an error of −75 dB at 20 kHz and 48 kHz. That is enough for this analysis, where the
// noise of the microphone dominates; package capture has an interpolator of 120 dB.
const (
	interpolatePhases = 4096
	interpolateDown   = 88   // dB
	interpolateTop    = 0.91 // highest end of a band, relative to half the sample rate
	// leastHalf and mostHalf bound the number of taps on one side, which is even.
	leastHalf, mostHalf = 4, 32
)

// interpolators holds the tables by a quarter of their taps. Each is made on first use.
var interpolators = func() (all [mostHalf/2 + 1]func() *interpolate.Table) {
	for i := range all {
		all[i] = sync.OnceValue(func() *interpolate.Table {
			return interpolate.NewTable(2*i, interpolatePhases, interpolate.Beta(interpolateDown))
		})
	}
	return all
}()

// interpolatorFor returns the table for a band that ends at a fraction of half the sample rate.
func interpolatorFor(top float64) *interpolate.Table {
	taps := (interpolateDown - 8) / (2.285 * 2 * math.Pi * (1 - top))
	half := max(leastHalf, 2*int(math.Ceil(taps/4)))
	return interpolators[min(half, mostHalf)/2]()
}

// read fills dst with gain times x at the places start, start + step, ….
func read(dst, x []float64, t *interpolate.Table, start, step, gain float64) {
	for i := range dst {
		dst[i] = gain * t.Nearest(x, start+float64(i)*step)
	}
}
