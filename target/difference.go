package target

import (
	"math"
	"slices"

	"example.com/earnest/internal/grid"
	"example.com/earnest/response"
)

// edgeOctaves is the part of a band, in octaves, that may be missing at its ends without a warning:
// the step of a coarse grid.
const edgeOctaves = 0.1

// difference returns c − t at the points of both, where both are known. The ends of the common band
// are among the points.
func difference(c, t response.Curve) response.Curve {
	band := known(c).Intersect(known(t))
	at := distinct(grid.Union(band.Low, band.High, c.Frequency, t.Frequency, []float64{band.Low, band.High}))
	c.Rig, t.Rig = "", "" // the caller has compared the rigs
	d, err := c.Resample(at).Sub(t.Resample(at))
	if err != nil {
		panic("target: " + err.Error()) // curves without a rig can always be subtracted
	}
	d.Valid = band
	return d
}

// known returns the band in which a curve may be known: between its points, and valid.
func known(c response.Curve) response.Band {
	return c.Valid.Intersect(response.Band{Low: c.Frequency[0], High: c.Frequency[len(c.Frequency)-1]})
}

// distinct removes from ascending frequencies those that differ from the one before by no more than
// rounding, as in one grid computed in two ways.
func distinct(f []float64) []float64 {
	return slices.CompactFunc(f, func(a, b float64) bool { return math.Abs(b-a) <= 1e-12*a })
}

// finite limits a band that is open at an end to the range of the data.
func finite(b, data response.Band) response.Band {
	if !(b.Low > 0) {
		b.Low = data.Low
	}
	if math.IsInf(b.High, 1) {
		b.High = data.High
	}
	return b
}
