package capture

import (
	"fmt"

	"example.com/earnest/response"
)

// flatTops looks for tops that are cut off below full scale, as an amplifier ahead of the converter does. Of the samples within four
// tolerances of the highest, a sine has half within one of them, and whatever rises to its top in another way has less. The
// tolerance is two steps, eight times the noise, or a ten-thousandth of the top, whichever is the largest. The noise is not known
// without a quiet stretch; clipping with noise on it is then missed.
func (c *channel) flatTops() {
	if c.peak >= 1-2*max(c.step, 1.0/(1<<23)) {
		return // full scale is reached: what is flat is clipped
	}
	noise := 0.0
	if c.quiet != nil {
		noise = rmsOf(c.quiet)
	}
	const least = 24 // samples
	run := 1
	if c.placed == nil {
		run = 3
	}
	var high, low float64
	for _, v := range c.x {
		high, low = max(high, v), min(low, v)
	}
	for _, sign := range []float64{1, -1} {
		top := max(sign*high, sign*low)
		t := tops{level: top, run: run, tolerance: max(2*c.step, 8*noise, 1e-4*top)}
		if t.tolerance > top/20 {
			continue // too coarse or too noisy to tell
		}
		for i, v := range c.x {
			if v *= sign; v > top/2 && !(run > 1 && c.steep(i, sign)) {
				t.meet(i, v)
			}
		}
		t.end(len(c.x))
		if t.count < least || !t.flat() {
			continue
		}
		c.cutOff = true
		c.add(response.Finding{Kind: FlatTops, Severity: unfitIf(c.ref != nil),
			Time: float64(t.first) / c.fs, Duration: float64(t.last-t.first) / c.fs,
			What: fmt.Sprintf("is flat at its tops from %s on (%s samples at %s dBFS): something ahead of the converter clips",
				clock(float64(t.first)/c.fs), count(t.count), signed(decibels(top))),
			Remedy:  "lower the level ahead of the recorder, not in it, and record again",
			Figures: figures{"samples": figure(float64(t.count), "samples"), "level": figure(decibels(top), "dBFS")}})
		return
	}
}

// steep tells whether sample i stands at the edge of a square wave, which falls from its top to the other side at once.
func (c *channel) steep(i int, sign float64) bool {
	return i > 0 && sign*c.x[i-1] < 0 || i+1 < len(c.x) && sign*c.x[i+1] < 0
}
