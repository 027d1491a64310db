package programme

import (
	"math"
)

// The error from segments of limited length is estimated from the change that segments of half the
// length make. The error of a smoothed curve is proportional to the square of the width. From twice
// the width to once, the curve therefore changes by three times the error that is left. The change
// passes through zero where the curve crosses the truth, so the largest change nearby counts.
const (
	pointShare = 0.5 // of the change of a point; a smooth curve has a third of it left, and more between tones
	normal95   = 1.96
	beside     = 2 // places on each side whose change counts, half a width apart
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

// unresolvedBand returns the same uncertainty for the difference over a band, whose edges the
// window blurs. It is half of the largest change, as half the width of a rectangular distribution,
// when the segments are half as long or an edge moves by a bin.
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

// coarser returns the resolution with segments half as long, or t itself if there is none.
func (c *Comparison) coarser(t *resolution) *resolution {
	for i, other := range c.resolutions {
		if other == t && i > 0 {
			return c.resolutions[i-1]
		}
	}
	return t
}
