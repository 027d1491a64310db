package programme

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/sinc"
)

// interpolator reads the recording through the headphones on the direct
// recording's clock: a sinc under a Kaiser window, of as many taps as a band
// takes. Up to the band's end f it errs by −88 dB: what is above half the sample rate
// has to have gone by fs − f, which takes
//
//	(A − 8) / (2.285 · 2π (fs − 2f)/fs)
//
// taps for A dB (Kaiser's design formula, 1974, from memory). It is tabulated
// at so many places between two samples that the nearest one errs by −75 dB at
// 20 kHz, at 48 kHz. It is for analysis where the noise of a microphone comes first;
// capture has one of 120 dB.
type interpolator struct {
	half int
	taps [][]float64 // at each place between two samples
}

const (
	interpolatePhases = 4096
	interpolateDown   = 88   // dB
	interpolateTop    = 0.91 // of half the sample rate, the most that a band may take
	// leastHalf and mostHalf bound the taps to one side, of which there are an even number.
	leastHalf, mostHalf = 4, 32
)

// interpolators are made when they are first asked for, by half of their taps.
var interpolators = func() (all [mostHalf/2 + 1]func() *interpolator) {
	for i := range all {
		all[i] = sync.OnceValue(func() *interpolator { return newInterpolator(2 * i) })
	}
	return all
}()

// interpolatorFor is the one for a band that ends at so much of half the sample rate.
func interpolatorFor(top float64) *interpolator {
	taps := (interpolateDown - 8) / (2.285 * 2 * math.Pi * (1 - top))
	half := max(leastHalf, 2*int(math.Ceil(taps/4)))
	return interpolators[min(half, mostHalf)/2]()
}

func newInterpolator(half int) *interpolator {
	const beta = 0.1102 * (interpolateDown - 8.7) // Kaiser 1974
	side := make([]float64, half*interpolatePhases+1)
	for i := range side {
		side[i] = sinc.Kernel(float64(i)/interpolatePhases, float64(half), beta)
	}
	p := &interpolator{half, make([][]float64, interpolatePhases+1)}
	all := make([]float64, 2*half*len(p.taps))
	for phase := range p.taps {
		taps := all[2*half*phase:][:2*half]
		for i := range taps {
			at := (i-half+1)*interpolatePhases - phase
			taps[i] = side[max(at, -at)]
		}
		p.taps[phase] = taps
	}
	return p
}

// read fills dst with x at the places start, start + step, … times gain; what
// lies beyond its ends is zero.
func (p *interpolator) read(dst, x []float64, start, step, gain float64) {
	for i := range dst {
		at := start + float64(i)*step
		base := math.Floor(at)
		first := int(base) - p.half + 1
		taps := p.taps[int((at-base)*interpolatePhases+0.5)]
		if first < 0 || first+len(taps) > len(x) {
			dst[i] = gain * outside(taps, x, first)
			continue
		}
		dst[i] = gain * floats.Dot(taps, x[first:first+len(taps)])
	}
}

// outside is what the taps give from index first on when some lie beyond x.
func outside(k, x []float64, first int) (sum float64) {
	for j, w := range k {
		if m := first + j; m >= 0 && m < len(x) {
			sum += w * x[m]
		}
	}
	return sum
}
