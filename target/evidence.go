package target

import (
	"math"
	"slices"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
)

// Evidence holds the measurements of a pair, for [Use.Judge]. Without a measurement the answers
// that need it are "cannot tell".
type Evidence struct {
	// Seatings holds the pair's response, the mean of its sides, once for each time it was put on
	// the rig.
	Seatings []response.Curve
	// Match is left less right in dB, once for each seating.
	Match []response.Curve
	// THD is total harmonic distortion relative to the fundamental, at the frequencies and levels
	// of the measurement.
	THD []distortion.THD
}

// within returns the distortions whose fundamental lies in a band, the largest first.
func (e Evidence) within(b response.Band) []distortion.THD {
	var out []distortion.THD
	for _, t := range e.THD {
		if b.Contains(t.Frequency) {
			out = append(out, t)
		}
	}
	slices.SortStableFunc(out, func(a, b distortion.THD) int {
		switch x, y := a.AtMost(), b.AtMost(); {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	return out
}

// DecideAtMost reports whether a reading is at most a limit, in the unit of the reading. A reading
// below its floor has only an upper bound, which can show that it is small enough, but not that it
// is too large. DecideAtMost panics unless the confidence lies between 0.5 and 1.
func DecideAtMost(r distortion.Reading, limit, confidence float64) Answer {
	switch {
	case r.Below && r.Bound <= limit:
		return Yes
	case !r.Known() || math.IsNaN(r.Uncertainty):
		return CannotTell
	}
	switch low, high := r.Interval(2*confidence - 1); {
	case high <= limit:
		return Yes
	case low > limit:
		return No
	}
	return CannotTell
}

// CompareSides judges left less right in dB, one curve for each seating, over a band. The target is
// no difference, and the levels are not aligned. The only region is the band. The errors are those
// of [CompareSeatings].
func CompareSides(match []response.Curve, band response.Band, o Config) (Deviation, error) {
	o.Band, o.Align, o.Regions = band, Alignment{None: true}, []Region{{Name: "match", Band: band}}
	return CompareSeatings(match, noDifference(match), o)
}

// noDifference returns the target of a pair whose sides are alike.
func noDifference(match []response.Curve) Target {
	t := Flat()
	t.Name = "no difference"
	if len(match) > 0 {
		t.Curve.Rig = match[0].Rig
	}
	return t
}
