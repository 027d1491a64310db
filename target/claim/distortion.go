package claim

import (
	"fmt"
	"math"
	"strings"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/target"
)

// Distortion claims that total harmonic distortion is at most so many percent.
type Distortion struct {
	At      float64 // Hz of the fundamental; 0 means not stated
	Level   float64 // dB SPL; 0 means not stated
	Percent float64
	// Relative says what Percent is relative to.
	Relative distortion.Relative
}

// String says the claim: "distortion of at most 0.2 % at 1 kHz and 94 dB SPL".
func (c Distortion) String() string {
	s := fmt.Sprintf("distortion of at most %g %%", c.Percent)
	if c.Relative == distortion.THDR {
		s += " of the total"
	}
	var at []string
	if c.At > 0 {
		at = append(at, response.FormatFrequency(c.At))
	}
	if c.Level != 0 {
		at = append(at, fmt.Sprintf("%g dB SPL", c.Level))
	}
	if len(at) > 0 {
		s += " at " + strings.Join(at, " and ")
	}
	return s
}

func (c Distortion) check() error {
	switch {
	case !(c.Percent > 0 && c.Percent < 100):
		return fmt.Errorf("a distortion of %v %%; give the percentage that is not exceeded, above zero", c.Percent)
	case !(c.At >= 0) || math.IsInf(c.At, 0):
		return fmt.Errorf("a frequency of %v Hz; frequencies are above zero", c.At)
	}
	return checkLevel(c.Level)
}

// checkLevel refuses what is no sound pressure level; 0 stands for none.
func checkLevel(level float64) error {
	if !(level >= 0 && level < 200) {
		return fmt.Errorf("a level of %v dB SPL; levels of headphones lie between 0 and 200", level)
	}
	return nil
}

// ofFundamental is the limit relative to the fundamental: with p of the total,
// p/√(1 − p²).
func (c Distortion) ofFundamental() float64 {
	if c.Relative == distortion.THDF {
		return c.Percent
	}
	p := c.Percent / 100
	return 100 * p / math.Sqrt(1-p*p)
}

// levelSlack is how far in dB the level of a measurement may be from that of a
// claim.
const levelSlack = 0.5

func (c Distortion) judge(e Evidence, o Config) (Verdict, error) {
	var here, there []distortion.THD
	for _, t := range e.THD {
		if c.At > 0 && !sameFrequency(t.Frequency, c.At) || math.IsNaN(t.AsRead) {
			continue
		}
		here = append(here, t)
		if math.Abs(t.Level-c.Level) <= levelSlack {
			there = append(there, t)
		}
	}
	switch {
	case len(e.THD) == 0:
		return undecided(NotMeasured, "%", "distortion was not measured"), nil
	case len(here) == 0:
		return undecided(NotAtThatFrequency, "%", "distortion was not measured at %s", response.FormatFrequency(c.At)), nil
	case c.At == 0:
		return about(largest(here), NoFrequencyStated, "the claim does not say at which frequency; the largest that was measured is %v"), nil
	case c.Level == 0:
		return about(largest(here), NoLevelStated, "the claim does not say at which level, and distortion grows with level; measured was %v"), nil
	case len(there) == 0:
		return about(nearest(here, c.Level), NotAtThatLevel, fmt.Sprintf("not measured at %g dB SPL; nearest to it is %%v", c.Level)), nil
	}
	t := largest(there)
	answer := target.DecideAtMost(t.Reading, c.ofFundamental(), o.Confidence)
	v := Verdict{Measured: t.Figure, Frequency: t.Frequency}
	if !t.Below {
		v.settle(answer, o.Confidence, fmt.Sprintf("the distortion at %s and %.4g dB SPL", response.FormatFrequency(t.Frequency), t.Level), fmt.Sprintf("at most %.3g %%", c.ofFundamental()))
		return v, nil
	}
	v.Outcome, v.Reason = Met, fmt.Sprintf("the distortion is below the floor of this measurement: %v", t)
	if answer != target.Yes {
		v.Outcome, v.Cause, v.Reason = CannotTell, BelowNoise, fmt.Sprintf("the distortion is below the floor of this measurement, which is not low enough to tell: %v", t)
	}
	return v, nil
}

// about is a verdict of CannotTell that shows what was measured all the same.
func about(t distortion.THD, cause Cause, reason string) Verdict {
	return Verdict{Cause: cause, Measured: t.Figure, Frequency: t.Frequency, Reason: fmt.Sprintf(reason, t)}
}

func largest(readings []distortion.THD) distortion.THD {
	best := readings[0]
	for _, t := range readings[1:] {
		if t.AtMost() > best.AtMost() {
			best = t
		}
	}
	return best
}

// nearest is the reading at the level nearest to one.
func nearest(readings []distortion.THD, level float64) distortion.THD {
	best := readings[0]
	for _, t := range readings[1:] {
		if !(math.Abs(t.Level-level) >= math.Abs(best.Level-level)) {
			best = t
		}
	}
	return best
}
