package claim

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"example.com/earnest/response"
	"example.com/earnest/target"
)

// Match claims that the two sides differ by at most a number of dB.
type Match struct {
	Within float64 // dB to either side
	// At is a frequency in Hz, and Over a band; neither means not stated.
	At   float64
	Over response.Band
}

// String returns the claim: "channel balance (L−R) within 1 dB at 1 kHz".
func (c Match) String() string {
	s := fmt.Sprintf("channel balance (L−R) within %g dB", c.Within) + at(c.At)
	if c.At == 0 && !c.Over.Empty() {
		s += " over " + c.Over.String()
	}
	return s
}

func (c Match) check() error {
	switch {
	case !(c.Within > 0) || math.IsInf(c.Within, 0):
		return fmt.Errorf("a match within %v dB; give it above zero", c.Within)
	case c.Over != (response.Band{}):
		return cmp.Or(checkFrequency(c.At), checkBand("band", c.Over))
	}
	return checkFrequency(c.At)
}

func (c Match) judge(e Evidence) (Verdict, error) {
	if len(e.Match) == 0 {
		return undecided(NotMeasured, none("dB"), "the two sides were not both measured"), nil
	}
	d, err := target.CompareSides(e.Match, response.Band{Low: 1, High: 1e6}, target.Config{})
	switch {
	case errors.Is(err, target.ErrNoOverlap):
		return undecided(ResponseEnds, none("dB"), "the channel balance (L−R) is known nowhere"), nil
	case err != nil:
		return Verdict{}, err
	}
	const what = "the channel balance (L−R) at %s"
	limit := fmt.Sprintf("±%g dB", c.Within)
	over := c.Over
	switch {
	case c.At > 0 && !d.Curve.Figure(c.At).Known():
		cause, why := e.ends(response.Band{Low: c.At, High: c.At})
		return undecided(cause, none("dB"), "%s; the channel balance (L−R)%s is not known", why, at(c.At)), nil
	case c.At > 0:
		return decided(FigureAt{c.At, d.Curve.Figure(c.At)}, -c.Within, c.Within, what, limit), nil
	case over.Empty():
		over = target.Audible
	}
	v := e.conclude(survey(d, over, -c.Within, c.Within), what, limit)
	if !c.Over.Empty() || v.Outcome == Met { // if it is met everywhere, the frequency does not matter
		return v, nil
	}
	all := slices.DeleteFunc(figures(d, over), func(m FigureAt) bool { return !m.Known() })
	if !slices.ContainsFunc(all,
		func(m FigureAt) bool { return target.Decide(m.Figure, -c.Within, c.Within, confidence) != target.No }) {
		closest := least(all, func(m FigureAt) float64 { return math.Abs(m.Value) }) // nor if it is met nowhere
		return settled(target.No, closest, "the channel balance (L−R) where the sides are closest, at %s,", limit), nil
	}
	return undecided(NoFrequencyStated, FigureAt{v.Frequency, v.Measured},
		"the claim does not say at which frequencies; furthest apart the sides are %s,%s",
		v.Measured.WithInterval(confidence), at(v.Frequency)), nil
}
