package target

import (
	"fmt"
	"math"

	"example.com/earnest/response"
)

// Alignment says how the response is moved up or down before it is judged, since the level of a
// recording is not part of its shape. The zero Alignment minimises the weighted square deviation
// over the judged band: the weighted mean deviation becomes zero.
type Alignment struct {
	// At is the frequency in Hz at which the deviation becomes zero.
	At float64
	// Over is the band over which the weighted mean deviation becomes zero, if At is 0. It need not
	// be the judged band.
	Over response.Band
	// None judges the levels as they are, for curves that have one reference.
	None bool
}

// String describes the alignment in words.
func (a Alignment) String() string {
	switch {
	case a.None:
		return "not aligned"
	case a.At != 0:
		return "aligned at " + response.FormatFrequency(a.At)
	case a.Over != response.Band{}:
		return "aligned over " + a.Over.String()
	}
	return "aligned for the least weighted square error"
}

// aligner returns the aligner for a difference, and a warning for the reader if part of the band of
// the alignment is not known.
func (a Alignment) aligner(difference response.Curve, judged *plan, w weight) (al aligner, warning string, err error) {
	switch {
	case a.None:
	case a.At != 0:
		if math.IsNaN(difference.At(a.At)) {
			return aligner{}, "", fmt.Errorf(
				"cannot align at %s: the curve and the target are both known over %v; choose a frequency inside it",
				response.FormatFrequency(a.At), difference.Valid)
		}
	case a.Over != response.Band{}:
		band := finite(a.Over, difference.Valid)
		p, err := newPlan(difference, Tolerance{}, band, w)
		if err != nil {
			return aligner{}, "", err
		}
		over := p.sumUp(p.read(difference), 0, len(p.pieces))
		if !(over.weight > 0) {
			return aligner{}, "", fmt.Errorf(
				"cannot align over %v: the curve and the target are both known over %v, or the weights there are zero; "+
					"choose another band", a.Over, difference.Valid)
		}
		if over.octaves < band.Octaves()-edgeOctaves {
			warning = fmt.Sprintf("aligned over the known part of %v, %.2g of its %.2g octaves",
				a.Over, over.octaves, band.Octaves())
		}
		judged = p
	}
	return aligner{a, judged}, warning, nil
}

// aligner computes the mean level that an alignment subtracts. It is linear: the level of a sum of
// curves is the sum of their levels.
type aligner struct {
	Alignment
	over *plan
}

// level returns the level in dB that the alignment subtracts from a curve.
func (a aligner) level(c response.Curve) float64 { return a.levelOf(c, nil, nil) }

// levelOf is level for a curve that was read at the points of a plan.
func (a aligner) levelOf(c response.Curve, p *plan, read []float64) float64 {
	switch {
	case a.None:
		return 0
	case a.At != 0:
		return c.At(a.At)
	}
	if p != a.over {
		read = a.over.read(c)
	}
	mean, _ := a.over.moments(read, 0, len(a.over.pieces))
	return mean
}
