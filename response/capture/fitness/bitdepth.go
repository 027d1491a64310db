package fitness

import (
	"fmt"
	"math"
	"slices"

	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
)

const (
	fewBits        = 12  // a recorder has 16 at least
	codedValues    = 256 // the most values of a code of 8 bits
	codedFewest    = 32  // values
	codedGapsWiden = 4   // the gap between the largest values re that between the smallest
)

// codedInEight returns the number of values of a channel if they are as few and as unequally spaced
// as those of a logarithmic code of 8 bits (ITU-T G.711), or 0. The values of a pure tone are few
// too, but closest where they are largest.
func (c *channel) codedInEight() int {
	seen := map[float64]bool{}
	last := math.NaN()
	for _, v := range c.x {
		if v == last {
			continue
		}
		if last = v; !seen[v] {
			if seen[v] = true; len(seen) > codedValues {
				return 0
			}
		}
	}
	var values, gaps []float64
	for v := range seen {
		values = append(values, math.Abs(v))
	}
	slices.Sort(values)
	values = slices.Compact(values)
	for i := 1; i < len(values); i++ {
		gaps = append(gaps, values[i]-values[i-1])
	}
	quarter := len(gaps) / 4
	if len(seen) < codedFewest || !(statistic.Median(gaps[len(gaps)-quarter:]) > codedGapsWiden*statistic.Median(gaps[:quarter])) {
		return 0
	}
	return len(seen)
}

// detectLowBitDepth finds samples that have the steps of 12 bits or fewer, equal ones or, in a
// logarithmic code of 8 bits, such as grow with the level. Alone is true if the steps are so coarse
// that what else seems wrong is their effect.
func detectLowBitDepth(c *channel) (found []response.Finding, alone bool) {
	f := response.Finding{Kind: LowBitDepth, Severity: response.Warning, Time: nowhere, Duration: nowhere,
		Remedy: "record and export with 24 bits, without a code for speech"}
	peak := c.peak - math.Abs(c.offset)
	if bits := 1 - math.Log2(c.step); c.step > 0 && bits <= fewBits {
		if !(peak < 1000*c.step) {
			return nil, false
		}
		f.Severity = unfitIf(peak < 100*c.step)
		f.What = fmt.Sprintf("has the steps of %.0f bits, and its peak, %s dBFS, is %.0f of them: "+
			"their error is noise and distortion in the response", bits, signed(dBFS(peak), 1), peak/c.step)
		f.Figures = figures{"peak": figure(dBFS(peak), "dBFS"), "steps": figure(peak/c.step, "")}
		return c.finding(f), f.Severity == response.Unfit
	}
	if peak < 1000*c.step {
		return nil, false // too soft: few values are no code
	}
	if values := c.codedInEight(); values > 0 {
		f.Severity = response.Unfit
		f.What = fmt.Sprintf("holds %d different values only, closer together where they are small, as of a code of "+
			"8 bits for speech: its error is noise and distortion in the response", values)
		f.Figures = figures{"values": figure(float64(values), "")}
		return c.finding(f), true
	}
	return nil, false
}
