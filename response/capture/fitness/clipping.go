package fitness

import (
	"fmt"
	"math"

	"example.com/earnest/response"
)

// finestStep is that of 24 bits, for recordings that are stored as float.
const finestStep = 1.0 / (1 << 23)

// plateau counts samples near a level.
type plateau struct {
	level, tolerance float64
	run              int // the least number of successive samples that count

	count, near   int // within one and within four tolerances
	first, last   int
	from, running int // those of the current run
}

// observe counts the magnitude of sample i; samples far from the level may be left out.
func (p *plateau) observe(i int, v float64) {
	if d := math.Abs(v - p.level); d <= 4*p.tolerance {
		p.near++
		if d <= p.tolerance {
			if i != p.from+p.running {
				p.end(i)
				p.from = i
			}
			p.running++
			return
		}
	}
	p.end(i)
}

// end completes the current run.
func (p *plateau) end(i int) {
	switch {
	case p.running == 0:
	case p.running < p.run:
		p.near -= p.running // the run does not count
	default:
		if p.count == 0 {
			p.first = p.from
		}
		p.count += p.running
		p.last = p.from + p.running
	}
	p.from, p.running = i+1, 0
}

// flat reports whether more samples are at the level than in a top that is not cut off.
func (p *plateau) flat() bool { return float64(p.count) > 0.75*float64(p.near) }

// detectClipping finds samples at full scale. A top that just reaches full scale uncut has half of
// its samples in the upper quarter of its last steps; a top that is cut off has nearly all of them
// there.
func detectClipping(c *channel) []response.Finding {
	const least = 4 // samples: a programme at maximum level reaches full scale once or twice
	step := max(c.step, finestStep)
	if c.peak < 1-2*step || c.peak > 1+2*step { // floating-point samples go beyond full scale
		return nil
	}
	run := 1 // successive samples
	if c.placed == nil {
		run = 2 // a tone whose period is a whole number of samples reaches its top in one sample each time
	}
	full := plateau{level: 1, tolerance: 1.5 * step, run: run}
	for i, v := range c.x {
		full.observe(i, math.Abs(v))
	}
	full.end(len(c.x))
	if full.count < least || !full.flat() {
		return nil
	}
	from, share := float64(full.first)/c.fs, float64(full.count)/float64(len(c.x))
	return c.finding(response.Finding{Kind: Clipping, Severity: unfitIf(c.Stimulus != nil || share >= 1e-5),
		Time: from, Duration: float64(full.last-full.first) / c.fs,
		What:    fmt.Sprintf("clips at %s (%s samples at full scale)", seconds(from), count(full.count)),
		Remedy:  "lower the input gain and record again",
		Figures: figures{"samples": figure(float64(full.count), "samples")}})
}
