package programme

import (
	"math"
)

// What the length of the segments does not resolve is seen by what half of it changes. The error of a
// smoothed curve goes with the square of the width, so from twice the width to once it changes by
// three times what is left; where the curve turns from one side of the truth to the other the change
// passes through zero, so the largest change beside a place counts.
const (
	pointShare = 0.5 // of the change of a point; a third is left of it for a smooth curve, and more between tones
	normal95   = 1.96
	beside     = 2 // places to each side whose change counts, half a width apart
)

// unresolved returns the standard uncertainty in dB of the level of H1 over a cell from low to high
// Hz, from the width of the cell and the length of the segments.
func (c *Comparison) unresolved(t *resolution, low, high float64) float64 {
	middle, half, most := (low+high)/2, (high-low)/2, 0.0
	for i := -beside; i <= beside; i++ {
		f := middle + float64(i)*half
		change := c.coarser(t).level(f-2*half, f+2*half, false) - t.level(f-half, f+half, false)
		if most < math.Abs(change) {
			most = math.Abs(change)
		}
	}
	return pointShare * most
}

// unresolvedBand is the same for the difference over a band, whose edges the window blurs: what the
// length of the segments changes, or a shift of an edge by a bin, whichever is more, as half the width
// of a rectangular distribution.
func (c *Comparison) unresolvedBand(t *resolution, low, high float64) float64 {
	bin, base, most := t.rate/float64(t.n), t.level(low, high, true), 0.0
	for _, other := range []float64{
		c.coarser(t).level(low, high, true), t.level(low-bin, high, true), t.level(low+bin, high, true),
		t.level(low, high-bin, true), t.level(low, high+bin, true),
	} {
		if change := math.Abs(other - base); change > most {
			most = change
		}
	}
	return most / 2
}

// coarser returns the resolution of segments half as long, or t itself where there is none.
func (c *Comparison) coarser(t *resolution) *resolution {
	for i, other := range c.resolutions {
		if other == t && i > 0 {
			return c.resolutions[i-1]
		}
	}
	return t
}
