package claim

import (
	"fmt"
	"math"

	"example.com/earnest/response"
	"example.com/earnest/target"
)

// MaximumLevel claims that a pair can play so loud.
type MaximumLevel struct {
	Level   float64 // dB SPL
	At      float64 // Hz; 0 means not stated
	Percent float64 // of total harmonic distortion, relative to the fundamental, that is not exceeded; 0 means not stated
}

// String says the claim: "110 dB SPL at 1 kHz with at most 1 % of distortion".
func (c MaximumLevel) String() string {
	s := fmt.Sprintf("maximum level of %g dB SPL", c.Level)
	if c.At > 0 {
		s += " at " + response.FormatFrequency(c.At)
	}
	if c.Percent > 0 {
		s += fmt.Sprintf(" with at most %g %% of distortion", c.Percent)
	}
	return s
}

func (c MaximumLevel) check() error {
	switch {
	case c.Level == 0:
		return fmt.Errorf("there is no level; give it in dB SPL")
	case !(c.At >= 0) || math.IsInf(c.At, 0):
		return fmt.Errorf("a frequency of %v Hz; frequencies are above zero", c.At)
	case !(c.Percent >= 0 && c.Percent < 100):
		return fmt.Errorf("a distortion of %v %%; give the percentage that is not exceeded, above zero", c.Percent)
	}
	return checkLevel(c.Level)
}

// caution goes with every verdict that might tempt somebody to try.
const caution = "levels like this harm hearing within minutes or less: test only with nobody wearing the pair, in steps, and keep to local rules on exposure"

func (c MaximumLevel) judge(e Evidence, o Config) (Verdict, error) {
	var here []LoudestLevel
	for _, l := range e.Loudest {
		if l.Level.Known() && (c.At == 0 || sameFrequency(l.Frequency, c.At)) {
			here = append(here, l)
		}
	}
	var v Verdict
	switch {
	case len(e.Loudest) == 0:
		v = undecided(NotMeasured, "dB SPL", "how loud the pair can go was not measured")
	case len(here) == 0:
		v = undecided(NotAtThatFrequency, "dB SPL", "how loud the pair can go was not measured at %s", response.FormatFrequency(c.At))
	case c.At == 0:
		l := loudest(here)
		v = Verdict{Cause: NoFrequencyStated, Measured: l.Level, Frequency: l.Frequency, Reason: "the claim does not say at which frequency; reached was " + l.words(o.Confidence)}
	default:
		v = c.reach(here, o.Confidence)
	}
	v.Warnings = append(v.Warnings, caution)
	return v, nil
}

// reach decides by what was reached at the frequency of the claim.
func (c MaximumLevel) reach(here []LoudestLevel, confidence float64) Verdict {
	var stopped, open *LoudestLevel
	verdict := func(l *LoudestLevel, o Outcome, cause Cause, reason string) Verdict {
		return Verdict{Outcome: o, Cause: cause, Measured: l.Level, Frequency: l.Frequency, Reason: fmt.Sprintf(reason, l.words(confidence))}
	}
	for i := range here {
		l := &here[i]
		if (c.Percent == 0 || l.Percent <= c.Percent) && target.Decide(l.Level, c.Level, math.Inf(1), confidence) == target.Yes {
			return verdict(l, Met, Measured, "reached was %s")
		}
		// A limit at more distortion than claimed is one at less, too.
		if l.Limited && c.Percent > 0 && l.Percent >= c.Percent {
			stopped = l
		} else if open == nil || l.Level.Value > open.Level.Value {
			open = l
		}
	}
	switch {
	case stopped != nil && target.Decide(stopped.Level, c.Level, math.Inf(1), confidence) == target.No:
		return verdict(stopped, NotMet, Measured, "the distortion limits the pair to %s")
	case stopped != nil && math.IsNaN(stopped.Level.Uncertainty):
		return verdict(stopped, CannotTell, NotSure, "the distortion limits the pair to %s, but how sure that level is, is not known")
	case stopped != nil:
		return verdict(stopped, CannotTell, TooNearTheLimit, "the distortion limits the pair to %s, which is too near the claim for this measurement to tell")
	case c.Percent == 0 && open.Limited:
		return verdict(open, CannotTell, NoLimitStated, "the claim does not say with how much distortion; reached was %s, and more with more distortion")
	case open.Level.Value >= c.Level && math.IsNaN(open.Level.Uncertainty):
		return verdict(open, CannotTell, NotSure, "reached was %s, but how sure that level is, is not known")
	case open.Level.Value >= c.Level:
		return verdict(open, CannotTell, TooNearTheLimit, "reached was %s, too near the claim for this measurement to tell")
	}
	return verdict(open, CannotTell, NotAtThatLevel, "nothing louder was tried than %s")
}

func (l LoudestLevel) words(confidence float64) string {
	return fmt.Sprintf("%s at %s with at most %.3g %% of distortion", l.Level.WithInterval(confidence), response.FormatFrequency(l.Frequency), l.Percent)
}

func loudest(levels []LoudestLevel) LoudestLevel {
	best := levels[0]
	for _, l := range levels[1:] {
		if l.Level.Value > best.Level.Value {
			best = l
		}
	}
	return best
}
