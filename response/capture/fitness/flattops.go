package fitness

import (
	"fmt"

	"example.com/earnest/response"
)

// steep reports whether sample i is at the edge of a square wave, which falls from its top to the
// other side at once.
func (c *channel) steep(i int, sign float64) bool {
	return i > 0 && sign*c.x[i-1] < 0 || i+1 < len(c.x) && sign*c.x[i+1] < 0
}

// detectFlatTops finds tops that are cut off below full scale, as by an amplifier ahead of the
// converter. Of the samples within four tolerances of the highest, a sine has half within one
// tolerance, and any other waveform that is not cut off has fewer. The tolerance is two steps,
// eight times the noise, or a ten-thousandth of the top, whichever is the largest. Without a quiet
// stretch the noise is not known; clipping with noise on it is then missed.
func detectFlatTops(c *channel) []response.Finding {
	if c.peak >= 1-2*max(c.step, finestStep) {
		return nil // full scale is reached: flat tops are clipping
	}
	noise := 0.0
	if c.quiet != nil {
		noise = c.noise
	}
	const least = 24 // samples
	run := 1
	if c.placed == nil {
		run = 3
	}
	for _, sign := range []float64{1, -1} {
		top := c.highest
		if sign < 0 {
			top = c.lowest
		}
		p := plateau{level: top, run: run, tolerance: max(2*c.step, 8*noise, 1e-4*top)}
		if p.tolerance > top/20 {
			continue // too coarse or too noisy to tell
		}
		near := top - 5*p.tolerance
		for i, v := range c.x {
			if v *= sign; v > near && !(run > 1 && c.steep(i, sign)) {
				p.observe(i, v)
			}
		}
		p.end(len(c.x))
		if p.count < least || !p.flat() {
			continue
		}
		from := float64(p.first) / c.fs
		return c.finding(response.Finding{Kind: FlatTops, Severity: unfitIf(c.Stimulus != nil), Time: from,
			Duration: float64(p.last-p.first) / c.fs,
			What: fmt.Sprintf("is flat at its tops from %s on (%s samples at %s dBFS): something ahead of the converter clips",
				seconds(from), count(p.count), signed(dBFS(top), 1)),
			Remedy:  "lower the level ahead of the recorder, not in it, and record again",
			Figures: figures{"samples": figure(float64(p.count), "samples"), "level": figure(dBFS(top), "dBFS")}})
	}
	return nil
}
