package target

import (
	"fmt"
	"math"

	"example.com/earnest/response"
)

// Alignment says how the response is moved up or down before it is judged, since the level of a
// recording is not part of its shape. The zero Alignment aligns for the least weighted square
// deviation over the judged band: the weighted mean deviation becomes zero.
type Alignment struct {
	how  alignment
	at   float64
	over response.Band
}

type alignment int

const (
	leastSquares alignment = iota
	atFrequency
	overBand
	unaligned
)

// AlignAt makes the deviation zero at f Hz.
func AlignAt(f float64) Alignment { return Alignment{how: atFrequency, at: f} }

// AlignOver makes the weighted mean deviation zero over a band, which need not
// be the judged one.
func AlignOver(b response.Band) Alignment { return Alignment{how: overBand, over: b} }

// Unaligned judges the levels as they are, for curves that have one reference.
func Unaligned() Alignment { return Alignment{how: unaligned} }

// String says in words what was done.
func (a Alignment) String() string {
	switch a.how {
	case atFrequency:
		return "aligned at " + response.FormatFrequency(a.at)
	case overBand:
		return "aligned over " + a.over.String()
	case unaligned:
		return "not aligned"
	}
	return "aligned for the least weighted square error"
}

// aligner finds the mean level that an alignment takes away. It is linear: what
// it takes from a sum of curves is the sum of what it takes from each.
type aligner struct {
	how  alignment
	at   float64 // Hz
	over *plan
}

// aligner makes the alignment ready for a difference, and returns what a reader
// should be warned of.
func (a Alignment) aligner(difference response.Curve, judged *plan, w Weight) (al aligner, warning string, err error) {
	switch a.how {
	case atFrequency:
		if math.IsNaN(difference.At(a.at)) {
			return aligner{}, "", fmt.Errorf(
				"cannot align at %s: the curve and the target are both known over %v; choose a frequency inside it",
				response.FormatFrequency(a.at), difference.Valid)
		}
	case overBand:
		band := finite(a.over, difference.Valid)
		p, err := newPlan(difference, Tolerance{}, band, w)
		if err != nil {
			return aligner{}, "", err
		}
		over := p.sumUp(p.read(difference), 0, len(p.pieces))
		if !(over.weight > 0) {
			return aligner{}, "", fmt.Errorf(
				"cannot align over %v: the curve and the target are both known over %v, or the weights there are zero; "+
					"choose another band", a.over, difference.Valid)
		}
		if over.octaves < band.Octaves()-edgeOctaves {
			warning = fmt.Sprintf("aligned over what is known of %v, %.2g of its %.2g octaves",
				a.over, over.octaves, band.Octaves())
		}
		judged = p
	}
	return aligner{how: a.how, at: a.at, over: judged}, warning, nil
}

// level is what the alignment takes from a curve, in dB.
func (a aligner) level(c response.Curve) float64 {
	switch a.how {
	case unaligned:
		return 0
	case atFrequency:
		return c.At(a.at)
	}
	mean, _ := a.over.moments(a.over.read(c), 0, len(a.over.pieces))
	return mean
}
