package claim

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"example.com/earnest/response"
	"example.com/earnest/target"
)

// MaximumLevel claims that a pair can reach a level.
type MaximumLevel struct {
	Level   float64 // dB SPL
	At      float64 // Hz; 0 means not stated
	Percent float64 // of total harmonic distortion relative to the fundamental, as an upper limit; 0 means not stated
}

// String returns the claim: "110 dB SPL at 1 kHz with at most 1 % of distortion".
func (c MaximumLevel) String() string {
	s := fmt.Sprintf("maximum level of %g dB SPL", c.Level) + at(c.At)
	if c.Percent > 0 {
		s += fmt.Sprintf(" with at most %g %% of distortion", c.Percent)
	}
	return s
}

func (c MaximumLevel) check() error {
	switch {
	case c.Level == 0:
		return fmt.Errorf("there is no level; give it in dB SPL")
	case !(c.Percent >= 0 && c.Percent < 100):
		return fmt.Errorf("a distortion of %v %%; give the percentage that is not exceeded, above zero", c.Percent)
	}
	return cmp.Or(checkFrequency(c.At), checkLevel(c.Level))
}

// caution goes with every verdict that might tempt somebody to try the level.
const caution = "levels like this harm hearing within minutes or less: " +
	"test only with nobody wearing the pair, in steps, and keep to local rules on exposure"

func (c MaximumLevel) judge(e Evidence) (Verdict, error) {
	here := slices.DeleteFunc(slices.Clone(e.Loudest),
		func(l LoudestLevel) bool { return !l.Known() || !sameFrequency(l.Frequency, c.At) })
	var v Verdict
	switch {
	case len(e.Loudest) == 0:
		v = undecided(NotMeasured, none("dB SPL"), "how loud the pair can go was not measured")
	case len(here) == 0:
		v = undecided(NotAtThatFrequency, none("dB SPL"), "how loud the pair can go was not measured%s", at(c.At))
	case c.At == 0:
		l := least(here, LoudestLevel.softness)
		v = undecided(NoFrequencyStated, l.FigureAt, "the claim does not say at which frequency; reached was %v", l)
	default:
		v = c.reach(here)
	}
	v.Warnings = append(v.Warnings, caution)
	return v, nil
}

// reach decides by the level that was reached at the frequency of the claim.
func (c MaximumLevel) reach(here []LoudestLevel) Verdict {
	var stopped LoudestLevel
	var open []LoudestLevel
	for _, l := range here {
		if (c.Percent == 0 || l.Percent <= c.Percent) && c.decide(l) == target.Yes {
			return told(Met, Measured, l.FigureAt, "reached was %v", l)
		}
		// A level limited by more distortion than claimed is also limited by less.
		if l.Limited && c.Percent > 0 && l.Percent >= c.Percent {
			stopped = l
		} else {
			open = append(open, l)
		}
	}
	l := least(open, LoudestLevel.softness)
	switch {
	case stopped.Known() && c.decide(stopped) == target.No:
		return told(NotMet, Measured, stopped.FigureAt, "the distortion limits the pair to %v", stopped)
	case stopped.Known() && math.IsNaN(stopped.Uncertainty):
		return undecided(NotSure, stopped.FigureAt,
			"the distortion limits the pair to %v, but its uncertainty is not known", stopped)
	case stopped.Known():
		return undecided(TooNearTheLimit, stopped.FigureAt,
			"the distortion limits the pair to %v, which is too near the claim for this measurement to tell", stopped)
	case c.Percent == 0 && l.Limited:
		return undecided(NoLimitStated, l.FigureAt,
			"the claim does not say with how much distortion; reached was %v, and more with more distortion", l)
	case l.Value >= c.Level && math.IsNaN(l.Uncertainty):
		return undecided(NotSure, l.FigureAt, "reached was %v, but its uncertainty is not known", l)
	case l.Value >= c.Level:
		return undecided(TooNearTheLimit, l.FigureAt, "reached was %v, too near the claim for this measurement to tell", l)
	}
	return undecided(NotAtThatLevel, l.FigureAt, "nothing louder was tried than %v", l)
}

func (c MaximumLevel) decide(l LoudestLevel) target.Answer {
	return target.Decide(l.Figure, c.Level, math.Inf(1), confidence)
}

// String returns the level with its interval, frequency and distortion.
func (l LoudestLevel) String() string {
	return fmt.Sprintf("%s at %s with at most %.3g %% of distortion",
		l.WithInterval(confidence), response.FormatFrequency(l.Frequency), l.Percent)
}

// softness decreases with the level.
func (l LoudestLevel) softness() float64 { return -l.Value }
