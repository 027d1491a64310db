package recognise

import (
	"math"

	"example.com/earnest/internal/taper"
)

// fading is the beginning of a sweep: the length of its fade in samples, 0 if there is none, and
// the residual energy of the first half of the signal after the faded sweep is subtracted.
type fading struct{ length, left float64 }

// fadeShapes are the shapes of the fades of other programs, from 0 to 1: a raised cosine, a
// straight line, a quarter of a sine, a parabola that opens downwards, and 100 dB in equal steps.
var fadeShapes = []func(float64) float64{
	taper.Rise,
	func(v float64) float64 { return v },
	func(v float64) float64 { return math.Sin(math.Pi / 2 * v) },
	func(v float64) float64 { return v * (2 - v) },
	func(v float64) float64 { return math.Pow(10, 5*(v-1)) },
}

// fadeOf fits a fade of any shape and length to the first half of x, which equals y except for the
// fade.
func fadeOf(x, y []float64) fading {
	half := len(x) / 2
	after := make([]float64, half+1) // energy left from each sample on, without a fade
	for i := half - 1; i >= 0; i-- {
		after[i] = after[i+1] + (x[i]-y[i])*(x[i]-y[i])
	}
	// left returns the residual energy, or a partial sum above the limit.
	left := func(length float64, shape func(float64) float64, limit float64) float64 {
		n := min(half, int(math.Ceil(length)))
		sum := after[n]
		for i := 0; i < n && sum <= limit; i++ {
			d := x[i] - y[i]*shape(float64(i)/length)
			sum += d * d
		}
		return sum
	}
	best := fading{0, after[0]}
	for _, shape := range fadeShapes {
		try := func(length, limit float64) float64 {
			l := left(length, shape, limit)
			if l < best.left {
				best = fading{length, l}
			}
			return l
		}
		const step = 1.1
		least, at := math.Inf(1), 0.0
		for length := 4.0; length < float64(half); length *= step {
			if l := try(length, least); l < least {
				least, at = l, length
			}
		}
		if at == 0 {
			continue
		}
		low, high := at/step, at*step
		for high-low > 1e-3*at { // golden section
			const golden = 0.3819660112501051
			a, b := low+golden*(high-low), high-golden*(high-low)
			if try(a, math.Inf(1)) < try(b, math.Inf(1)) {
				high = b
			} else {
				low = a
			}
		}
	}
	if best.length == 0 {
		return best
	}
	// A true fade leaves a small residual; rounding, and a filter behind the sweep, leave more.
	n := min(half, 2*int(best.length))
	var faded float64
	for _, v := range y[:n] {
		faded += v * v
	}
	if left := best.left - after[n]; !(left < (after[0]-after[n])/2 && left < 0.01*faded) {
		return fading{0, after[0]}
	}
	return best
}
