package fitness

import (
	"fmt"
	"math"
	"slices"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// A level step is a discontinuity in a sweep at which its amplitude changes at once and is steady
// before and after. No response changes so within a hundredth of a sweep, and a gain that follows
// the level moves with it. The phase stays: where it turns, the time jumps.
const (
	leastStep  = 2.0    // dB
	stepSteady = 1. / 3 // of the step: the most by which the level changes beside it
	stepWindow = 0.003  // s, or a period
	stepGuard  = 16     // samples between the discontinuity and what is compared
	mostSteps  = 8      // more are a gain that moves by steps
)

// levelStep is one, with its change in dB, below zero where the level falls.
type levelStep struct {
	at     int
	change float64
}

// levelSteps returns the level steps among the discontinuities of a channel, or nil if there are not
// more of them than of places at which the phase turns.
func (c *channel) levelSteps() (found []levelStep) {
	turns := 0
	places := slices.Concat(c.breaks.clicks, c.breaks.jumps)
	slices.SortFunc(places, func(a, b discontinuity) int { return a.at - b.at })
	for _, d := range places {
		if d.turn != 0 {
			turns++
		} else if change := c.stepAt(d.at); math.Abs(change) > leastStep {
			found = append(found, levelStep{d.at, change})
		}
	}
	if turns >= len(found) {
		return nil
	}
	return found
}

// stepAt returns the change of the sweep's amplitude in dB at a sample, or 0 if it is not steady
// before and after, or not known.
func (c *channel) stepAt(at int) float64 {
	f := c.sweepFrequency(at)
	if math.IsNaN(f) {
		return 0
	}
	n, first := int(max(stepWindow, 1/f)*c.fs), math.NaN()
	for _, repeat := range c.Stimulus.Sweeps(c.side) {
		if begin := c.recordedAt(repeat.Start); begin < float64(at) {
			first = begin
		}
	}
	var level [4]float64
	for k, from := range [4]int{at - stepGuard - 2*n, at - stepGuard - n, at + stepGuard, at + stepGuard + n} {
		level[k] = decibel.OfAmplitude(c.amplitude(first, from, from+n))
	}
	change := level[2] - level[1]
	if !(max(math.Abs(level[1]-level[0]), math.Abs(level[3]-level[2])) < stepSteady*math.Abs(change)) || math.IsInf(change, 0) {
		return 0
	}
	return change
}

// detectLevelSteps finds a level that falls or rises at once while the sweep plays, and stays so for
// a while: a contact becomes poor, a link fails in part, a control is touched.
func detectLevelSteps(c *channel) []response.Finding {
	if c.placed == nil {
		return nil
	}
	all := c.levelSteps()
	if len(all) == 0 || len(all) > mostSteps {
		return nil
	}
	first, t := all[0], float64(all[0].at)/c.fs
	f := response.Finding{Kind: LevelStep, Severity: response.Unfit, Time: t, Duration: nowhere,
		Remedy:  "push the plugs in, check the cable and the link, touch no control, and record again",
		Figures: figures{"steps": figure(float64(len(all)), ""), "step": figure(first.change, "dB")}}
	f.What = fmt.Sprintf("changes its level by %s dB at %s", signedPlus(first.change), seconds(t))
	if len(all) > 1 && first.change*all[1].change < 0 {
		f.Duration = float64(all[1].at-first.at) / c.fs
		f.What += fmt.Sprintf(" for %.0f ms", 1000*f.Duration)
	}
	if len(all) > 2 {
		f.What += fmt.Sprintf(", the first of %s changes", count(len(all)))
	}
	f.What += " while the sweep plays: a contact or a link is poor, or a control was moved; the response is off by as much there"
	return c.finding(f)
}
