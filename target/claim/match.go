package claim

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"example.com/earnest/response"
	"example.com/earnest/target"
)

// Match claims that the two sides differ by at most so many dB.
type Match struct {
	Within float64 // dB to either side
	// At a frequency (Hz), or over a band; neither means not stated.
	At   float64
	Over response.Band
}

// String says the claim: "left–right match within 1 dB at 1 kHz".
func (c Match) String() string {
	s := fmt.Sprintf("left–right match within %g dB", c.Within)
	switch {
	case c.At > 0:
		s += " at " + response.FormatFrequency(c.At)
	case !c.Over.Empty():
		s += " over " + c.Over.String()
	}
	return s
}

func (c Match) check() error {
	switch {
	case !(c.Within > 0) || math.IsInf(c.Within, 0):
		return fmt.Errorf("a match within %v dB; give it above zero", c.Within)
	case !(c.At >= 0) || math.IsInf(c.At, 0):
		return fmt.Errorf("a frequency of %v Hz; frequencies are above zero", c.At)
	case c.Over != (response.Band{}) && (c.Over.Empty() || !(c.Over.Low > 0) || math.IsInf(c.Over.High, 0)):
		return fmt.Errorf("a band of %v Hz to %v Hz; give its low end first, above zero", c.Over.Low, c.Over.High)
	}
	return nil
}

func (c Match) judge(e Evidence, o Config) (Verdict, error) {
	if len(e.Match) == 0 {
		return undecided(NotMeasured, "dB", "the two sides were not both measured"), nil
	}
	none := target.Flat()
	none.Name, none.Measured, none.Curve.Rig = "no difference", true, e.Match[0].Rig
	d, err := target.CompareSeatings(e.Match, none, target.Config{Band: response.AllFrequencies, Align: target.Unaligned()})
	if err != nil {
		if errors.Is(err, target.ErrNoOverlap) {
			return undecided(ResponseEnds, "dB", "left less right is known nowhere"), nil
		}
		return Verdict{}, err
	}
	limit := fmt.Sprintf("±%g dB", c.Within)
	switch {
	case c.At > 0:
		f := d.At(c.At)
		if !f.Known() {
			cause, why := e.ends(response.Band{Low: c.At, High: c.At})
			return undecided(cause, "dB", "%s; left less right at %s cannot be told", why, response.FormatFrequency(c.At)), nil
		}
		return decided(f, c.At, -c.Within, c.Within, o.Confidence, "left less right at "+response.FormatFrequency(c.At), limit), nil
	case !c.Over.Empty():
		return c.survey(d, e, c.Over, limit, o.Confidence), nil
	}
	// Kept to everywhere, or nowhere, it need not say where.
	v := c.survey(d, e, target.Audible, limit, o.Confidence)
	if v.Outcome == Met {
		return v, nil
	}
	runs := survey(d, target.Audible, -c.Within, c.Within, o.Confidence)
	if !slices.ContainsFunc(runs, func(s stretch) bool { return s.known && s.answer != target.No }) {
		best := closest(d)
		best.settle(target.No, o.Confidence, "left less right where the sides are closest, at "+response.FormatFrequency(best.Frequency)+",", limit)
		return best, nil
	}
	v.Outcome, v.Cause = CannotTell, NoFrequencyStated
	v.Reason = fmt.Sprintf("the claim does not say at which frequencies; furthest apart the sides are %s, at %s", v.Measured.WithInterval(o.Confidence), response.FormatFrequency(v.Frequency))
	return v, nil
}

// survey decides over a band.
func (c Match) survey(d target.Deviation, e Evidence, over response.Band, limit string, confidence float64) Verdict {
	runs := survey(d, over, -c.Within, c.Within, confidence)
	verdict := func(a target.Answer) (Verdict, bool) {
		s, found := worst(runs, a)
		v := Verdict{Measured: s.worst, Frequency: s.at}
		v.settle(a, confidence, "left less right at "+response.FormatFrequency(s.at), limit)
		return v, found
	}
	if v, failed := verdict(target.No); failed {
		return v
	}
	if band, gone := missing(runs); gone {
		cause, why := e.ends(band)
		v, found := verdict(target.CannotTell)
		if !found {
			v, found = verdict(target.Yes)
		}
		if !found {
			v = undecided(cause, "dB", "")
		}
		v.Outcome, v.Cause, v.Reason = CannotTell, cause, fmt.Sprintf("%s, and %v cannot be told", why, band)
		return v
	}
	if v, unsure := verdict(target.CannotTell); unsure {
		return v
	}
	v, _ := verdict(target.Yes)
	return v
}

// closest is where the sides differ least, of what is audible.
func closest(d target.Deviation) Verdict {
	v := Verdict{Measured: response.NotKnown("dB"), Frequency: math.NaN()}
	for _, f := range points(d, target.Audible) {
		if at := d.At(f); at.Known() && !(math.Abs(at.Value) >= math.Abs(v.Measured.Value)) {
			v.Measured, v.Frequency = at, f
		}
	}
	return v
}
