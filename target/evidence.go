package target

import (
	"math"
	"slices"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
)

// Evidence is what was measured of a pair, for [Use.Judge]. What is missing
// makes the answers that need it "cannot tell".
type Evidence struct {
	// Seatings has the pair's response, the mean of its sides, once for each
	// time it was put on the rig.
	Seatings []response.Curve
	// Match has left less right in dB, once for each seating.
	Match []response.Curve
	// THD has total harmonic distortion relative to the fundamental, at the frequencies and levels
	// at which it was measured.
	THD []distortion.THD
}

// DecideAtMost tells whether a reading is at most a limit, in the unit of the reading. One that is
// below its floor can be shown to be small enough, by its bound, but not to be too large. It panics
// unless the confidence lies between 0.5 and 1.
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

// CompareSides judges left less right in dB, one curve for each seating, over a
// band: a Deviation from none, with the levels as they are. Its only region is the
// band. The errors are those of [CompareSeatings].
func CompareSides(match []response.Curve, band response.Band, o Config) (Deviation, error) {
	o.Band, o.Align, o.Regions = band, Alignment{None: true}, []Region{{Name: "match", Band: band}}
	return CompareSeatings(match, noDifference(match), o)
}

// noDifference is the target of a pair whose sides are alike.
func noDifference(match []response.Curve) Target {
	t := Flat()
	t.Name = "no difference"
	if len(match) > 0 {
		t.Curve.Rig = match[0].Rig
	}
	return t
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
