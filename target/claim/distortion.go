package claim

import (
	"cmp"
	"fmt"
	"math"

	"example.com/earnest/distortion"
	"example.com/earnest/target"
)

// Distortion claims an upper limit of total harmonic distortion, in percent.
type Distortion struct {
	At      float64 // Hz of the fundamental; 0 means not stated
	Level   float64 // dB SPL; 0 means not stated
	Percent float64
	// Relative says what Percent is relative to.
	Relative distortion.Relative
}

// String returns the claim: "distortion of at most 0.2 % at 1 kHz and 94 dB SPL".
func (c Distortion) String() string {
	s := fmt.Sprintf("distortion of at most %g %%", c.Percent)
	if c.Relative == distortion.THDR {
		s += " of the total"
	}
	s += at(c.At)
	switch {
	case c.Level == 0:
		return s
	case c.At == 0:
		return s + fmt.Sprintf(" at %g dB SPL", c.Level)
	}
	return s + fmt.Sprintf(" and %g dB SPL", c.Level)
}

func (c Distortion) check() error {
	if !(c.Percent > 0 && c.Percent < 100) {
		return fmt.Errorf("a distortion of %v %%; give the percentage that is not exceeded, above zero", c.Percent)
	}
	return cmp.Or(checkFrequency(c.At), checkLevel(c.Level))
}

// ofFundamental returns the limit relative to the fundamental: for p of the total, p/√(1 − p²).
func (c Distortion) ofFundamental() float64 {
	if c.Relative == distortion.THDF {
		return c.Percent
	}
	p := c.Percent / 100
	return 100 * p / math.Sqrt(1-p*p)
}

// levelSlack is the allowed difference in dB between the level of a measurement and that of a
// claim.
const levelSlack = 0.5

func (c Distortion) judge(e Evidence) (Verdict, error) {
	var here, there []distortion.THD
	for _, t := range e.THD {
		if !sameFrequency(t.Frequency, c.At) || math.IsNaN(t.AsRead) {
			continue
		}
		here = append(here, t)
		if math.Abs(t.Level-c.Level) <= levelSlack {
			there = append(there, t)
		}
	}
	largest := func(t distortion.THD) float64 { return -t.AtMost() }
	nearest := func(t distortion.THD) float64 { return math.Abs(t.Level - c.Level) }
	about := func(t distortion.THD, cause Cause, reason string) (Verdict, error) {
		return undecided(cause, FigureAt{t.Frequency, t.Figure}, "%s %v", reason, t), nil
	}
	switch {
	case len(e.THD) == 0:
		return undecided(NotMeasured, none("%"), "distortion was not measured"), nil
	case len(here) == 0:
		return undecided(NotAtThatFrequency, none("%"), "distortion was not measured%s", at(c.At)), nil
	case c.At == 0:
		return about(least(here, largest), NoFrequencyStated,
			"the claim does not say at which frequency; the largest that was measured is")
	case c.Level == 0:
		return about(least(here, largest), NoLevelStated,
			"the claim does not say at which level, and distortion grows with level; measured was")
	case len(there) == 0:
		return about(least(here, nearest), NotAtThatLevel,
			fmt.Sprintf("not measured at %g dB SPL; nearest to it is", c.Level))
	}
	t := least(there, largest)
	m, answer := FigureAt{t.Frequency, t.Figure}, target.DecideAtMost(t.Reading, c.ofFundamental(), confidence)
	switch {
	case !t.Below && !t.Known():
		return about(t, BelowNoise,
			"the floor of this measurement is not known, so the device's distortion is not known:")
	case !t.Below:
		return settled(answer, m, fmt.Sprintf("the distortion at %%s and %.3g dB SPL", t.Level),
			fmt.Sprintf("at most %.3g %%", c.ofFundamental())), nil
	case answer == target.Yes:
		return told(Met, Measured, m, "the distortion is below the floor of this measurement: %v", t), nil
	}
	return about(t, BelowNoise, "the distortion is below the floor of this measurement, which is not low enough to tell:")
}
