package target

import (
	"fmt"
	"math"
	"slices"

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
	// THD has total harmonic distortions at the frequencies and levels at which
	// they were measured.
	THD []THD
}

// THD is a total harmonic distortion that was measured, relative to the
// fundamental.
type THD struct {
	// Frequency of the fundamental, Hz.
	Frequency float64
	// Level is the sound pressure in dB SPL at which it was measured; NaN when
	// it is not known.
	Level float64
	// Percent is the distortion, unit "%".
	Percent response.Figure
	// Below says that the reading is within what the rig alone would show, and
	// Bound is then the percentage that the pair does not exceed with 95 %
	// confidence; NaN when there is none.
	Below bool
	Bound float64
}

// String writes it as a reader needs it: "0.12 % at 1 kHz and 94 dB SPL".
func (t THD) String() string {
	value := unsigned(t.Percent)
	if t.Below {
		value = "below the floor of this measurement"
		if !math.IsNaN(t.Bound) {
			value = fmt.Sprintf("at most %.2g %%", t.Bound)
		}
	}
	at := value + " at " + response.FormatFrequency(t.Frequency)
	if math.IsNaN(t.Level) {
		return at + " and a level that is not known"
	}
	return fmt.Sprintf("%s and %.4g dB SPL", at, t.Level)
}

// unsigned is the value of a percentage to two digits.
func unsigned(f response.Figure) string {
	if !f.Known() {
		return "not known"
	}
	return fmt.Sprintf("%.2g %%", f.Value)
}

// Decide tells whether the distortion is at most so many percent. One that is
// below the floor of its measurement can be shown to be small enough, by its
// bound, but not to be too large.
func (t THD) Decide(most, confidence float64) Answer {
	if !t.Below {
		return Decide(t.Percent, math.Inf(-1), most, confidence)
	}
	if t.Bound <= most {
		return Yes
	}
	return CannotTell
}

// CompareSides judges left less right in dB, one curve for each seating, over a
// band: a Deviation from none, with the levels as they are. Its only region is the
// band. The errors are those of [CompareSeatings].
func CompareSides(match []response.Curve, band response.Band, o Options) (Deviation, error) {
	o.Band, o.Align, o.Regions = band, Unaligned(), []Region{{Name: "match", Band: band}}
	return CompareSeatings(match, noDifference(match), o)
}

// noDifference is the target of a pair whose sides are alike. Both were measured
// on one rig, so its errors drop out.
func noDifference(match []response.Curve) Target {
	t := Flat()
	t.Name, t.Measured = "no difference", true
	if len(match) > 0 {
		t.Curve.Rig = match[0].Rig
	}
	return t
}

// within returns the distortions whose fundamental lies in a band, the largest
// first.
func (e Evidence) within(b response.Band) []THD {
	var out []THD
	for _, t := range e.THD {
		if b.Contains(t.Frequency) {
			out = append(out, t)
		}
	}
	slices.SortStableFunc(out, func(a, b THD) int {
		switch x, y := a.most(), b.most(); {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	return out
}

// most is the distortion that the reading does not rule out, in percent.
func (t THD) most() float64 {
	switch {
	case !t.Below:
		return t.Percent.Value
	case math.IsNaN(t.Bound):
		return math.Inf(1)
	}
	return t.Bound
}
