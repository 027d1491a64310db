package capture

import (
	"fmt"
	"math"

	"example.com/earnest/response"
)

// clipping looks for samples at full scale. Where nothing was cut off, a top that just reaches full scale has half of its samples in
// the upper quarter of its last steps; where something was, it has nearly all of them there.
func (c *channel) clipping() {
	const least = 4 // samples: programme that was made as loud as it goes touches full scale once or twice
	step := max(c.step, 1.0/(1<<23))
	if c.peak < 1-2*step {
		return
	}
	run := 1 // samples side by side
	if c.placed == nil {
		run = 2 // a tone whose period is a whole number of samples meets its top in one sample each time
	}
	full := tops{level: 1, tolerance: 1.5 * step, run: run}
	for i, v := range c.x {
		full.meet(i, math.Abs(v))
	}
	full.end(len(c.x))
	if full.count < least || !full.flat() {
		return
	}
	c.cutOff = true
	share := float64(full.count) / float64(len(c.x))
	c.add(response.Finding{Kind: Clipping, Severity: unfitIf(c.ref != nil || share >= 1e-5),
		Time: float64(full.first) / c.fs, Duration: float64(full.last-full.first) / c.fs,
		What:    fmt.Sprintf("clips at %s (%s samples at full scale)", clock(float64(full.first)/c.fs), count(full.count)),
		Remedy:  "lower the input gain and record again",
		Figures: figures{"samples": figure(float64(full.count), "samples")}})
}

// tops counts samples near a level.
type tops struct {
	level, tolerance float64
	run              int // the fewest samples side by side that count

	count, near int // within one and within four tolerances
	first, last int
	from, seen  int // of the run under way
}

// meet takes the magnitude of sample i into account; samples that are not near may be left out.
func (t *tops) meet(i int, v float64) {
	if d := math.Abs(v - t.level); d <= 4*t.tolerance {
		t.near++
		if d <= t.tolerance {
			if i != t.from+t.seen {
				t.end(i)
				t.from = i
			}
			t.seen++
			return
		}
	}
	t.end(i)
}

// end completes the run under way.
func (t *tops) end(i int) {
	switch {
	case t.seen == 0:
	case t.seen < t.run:
		t.near -= t.seen // as if it had not been
	default:
		if t.count == 0 {
			t.first = t.from
		}
		t.count += t.seen
		t.last = t.from + t.seen
	}
	t.from, t.seen = i+1, 0
}

// flat tells whether more samples stand at the level than a top that is not cut off has there.
func (t *tops) flat() bool { return float64(t.count) > 0.75*float64(t.near) }
