package tone

import (
	"fmt"
	"math"
	"slices"
)

// Clipping is what flat tops say.
type Clipping struct {
	Samples int     // that stand at the limit
	Level   float64 // of the limit, full scale = 1
	First   float64 // seconds from the first sample
}

// String is the finding in words.
func (c *Clipping) String() string {
	return fmt.Sprintf("clipped: %d samples stand at %.4g of full scale, the first at %.4g s; the distortion is the clipping's, not the device's: lower the gain and record again",
		c.Samples, c.Level, c.First)
}

// fullScale is the level from which a sample is at full scale: one step of
// 16 bits below it.
const fullScale = 1 - 1./(1<<15)

// clipping finds tops that are flatter than a sine's, at any level, or samples
// at full scale under a tone that needs more.
//
// A sine of amplitude A dwells within q of its peak for 2 arccos(1 − q/A)/ω
// samples, q being the step of the samples; equal neighbours beyond that, time
// and again, were cut off.
func clipping(x []float64, f *fitted) *Clipping {
	low, high := slices.Min(x), slices.Max(x)
	peak := max(high, -low)
	dwell := 2 * math.Acos(max(-1, 1-step(x)/peak)) / f.omega[0]
	longer := int(dwell) + 2
	over := peak >= fullScale && f.amplitude(0) > 1.0005*peak
	for _, limit := range []float64{high, low} {
		if math.Abs(limit) < peak/2 {
			continue
		}
		count, first, flat := 0, -1, 0
		for run, i := 0, 0; i < len(x); i++ {
			if x[i] != limit {
				run = 0
				continue
			}
			count++
			run++
			if first < 0 {
				first = i
			}
			if run == max(3, longer) {
				flat++
			}
		}
		if flat >= 3 || over && math.Abs(limit) >= fullScale {
			return &Clipping{Samples: count, Level: math.Abs(limit), First: float64(first) / f.rate}
		}
	}
	return nil
}

// step is the step of samples that were rounded to at most 24 bits, or 0.
func step(x []float64) float64 {
	bits := 1
	for _, v := range x {
		for math.Ldexp(v, bits) != math.Trunc(math.Ldexp(v, bits)) {
			if bits++; bits > 23 {
				return 0
			}
		}
	}
	return math.Ldexp(1, -bits)
}
