package tone

import (
	"fmt"
	"math"
	"slices"

	"example.com/earnest/response"
)

// The kinds of findings in a Result.
const (
	Clipping response.FindingKind = "clipping" // flat tops, so that every figure is that of the clipping
	Offset   response.FindingKind = "offset"   // of more than 1 % of the tone's amplitude; no figure counts it
)

// findings lists the remarks that a reader of the figures has to know first.
func (f *fitted) findings() []response.Finding {
	found := f.clipping()
	if share := math.Abs(f.offset) / f.amplitude(0); share > 0.01 {
		found = append(found, response.Finding{
			Kind: Offset, Severity: response.Note, Time: math.NaN(), Duration: math.NaN(),
			What: fmt.Sprintf("an offset of %.2g of full scale, %.2g %% of the tone's amplitude; no figure counts it",
				f.offset, 100*share),
			Figures: map[string]response.Figure{"level": ratio(f.offset, math.NaN())},
		})
	}
	return found
}

// fullScale is the amplitude above which a sample is at full scale: one step of 16 bits below it.
const fullScale = 1 - 1./(1<<15)

// clipping finds tops that are flatter than a sine's, at any level, and samples at full scale under
// a tone whose amplitude is higher.
//
// A sine of amplitude A is within q of its peak for 2 arccos(1 − q/A)/ω samples, q being the step
// of the samples. Longer runs of equal samples, three times or more, are clipping.
func (f *fitted) clipping() []response.Finding {
	x := f.x
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
			at := float64(first) / f.rate
			return []response.Finding{{
				Kind: Clipping, Severity: response.Unfit, Time: at, Duration: math.NaN(),
				What: fmt.Sprintf("clipped: %d samples stand at %.4g of full scale, the first at %.4g s; "+
					"the distortion is the clipping's, not the device's",
					count, math.Abs(limit), at),
				Remedy:  "lower the gain and record again",
				Figures: map[string]response.Figure{"samples": ratio(float64(count), 0), "level": ratio(math.Abs(limit), 0)},
			}}
		}
	}
	return nil
}

// step returns the step of samples that were rounded to at most 24 bits, or 0.
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
