package fitness

import (
	"fmt"
	"math"
	"slices"

	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// The levels in dB of one side's sweep re the other's in the channel of one cup. Between the cups
// of a pair, and in its lead, sound is about 10 dB weaker than mixedAbove (from experience).
const (
	mixedAbove  = -20
	alikeWithin = 6 // either side's sweep may be found as the stronger one, and levels are off by decibels
)

// reportMixedSides explains a channel in which the sweeps of both sides sound.
func (c *channel) reportMixedSides(said sweep.Side) []response.Finding {
	other, level := sweep.Left, c.placed.OtherSide
	if said == sweep.Left {
		other = sweep.Right
	}
	if c.placed.Side != said {
		level = -level
	}
	loud := "as loud as its own"
	switch {
	case level < -1:
		loud = fmt.Sprintf("%.0f dB below its own", -level)
	case level > 1:
		loud = fmt.Sprintf("%.0f dB above its own", level)
	}
	return c.finding(response.Finding{Kind: MixedSides, Severity: unfitIf(level > -alikeWithin && len(c.channels) == 2),
		Time: nowhere, Duration: nowhere,
		Figures: figures{"other side": figure(level, "dB")},
		What: fmt.Sprintf("holds the sweep of the %v side too, %s: the player, a plug or a cable mixes the "+
			"sides, so what plays on both is not what one side reproduces, and levels may be off", other, loud),
		Remedy: "turn off mono, crossfeed and spatial effects in the player and the system, push the plug in fully, " +
			"and record again"})
}

// together reports whether the stimulus plays both sides at the same time.
func (r *recording) together() bool {
	return r.Stimulus != nil && r.Stimulus.Sweeps(sweep.Left)[0].Start == r.Stimulus.Sweeps(sweep.Right)[0].Start
}

// reportCrosstalk explains a channel that holds only crosstalk: the recording ended before its own
// sweep, or there is none.
func (c *channel) reportCrosstalk() []response.Finding {
	if early := detectEarlyEnd(c); early != nil {
		return early
	}
	return c.finding(response.Finding{Kind: SilentChannel, Severity: response.Unfit, Time: 0,
		Duration: float64(len(c.x)) / c.fs,
		What:     "holds only crosstalk from the other side",
		Remedy:   "check the cable, the input and the driver of that side, and record again"})
}

// detectWrongSides finds sweeps in the channel of the other side, and channels that hold only
// crosstalk. If both channels hold the same sweep at the same time, one input fed both, even with
// independent noise: that is a copy.
func detectWrongSides(r *recording) (found []response.Finding) {
	if a, b := r.pair(); a != nil && !r.together() && a.placed != nil && b.placed != nil && !a.crosstalkOnly &&
		!b.crosstalkOnly && math.Abs(a.placed.Sweep-b.placed.Sweep) < a.fs/20 {
		f := response.Finding{Kind: CopiedChannel, Severity: response.Unfit, Channel: b.number,
			Time: nowhere, Duration: nowhere,
			What:   "both channels hold the same sweep",
			Remedy: "set the recorder to record its inputs separately, and record again"}
		if a.placed.OtherSide > mixedAbove && b.placed.OtherSide > mixedAbove {
			f.What = "both channels hold the sweeps of both sides about as loud: player or recorder mixes the sides, as to mono"
			f.Remedy = "turn off mono, crossfeed and spatial effects in the player and the system, " +
				"set the recorder to record its inputs separately, and record again"
		}
		return []response.Finding{r.finding(f)}
	}
	var mixed []response.Finding
	var wrong []*channel
	for _, c := range r.channels {
		if c.crosstalkOnly {
			found = append(found, c.reportCrosstalk()...)
			continue
		}
		switch said := r.said(c.number); {
		case c.placed == nil || c.placed.Side == 0 || said == 0:
		case c.placed.OtherSide > mixedAbove:
			mixed = append(mixed, c.reportMixedSides(said)...)
			if c.placed.Side != said && c.placed.OtherSide <= -alikeWithin {
				wrong = append(wrong, c)
			}
		case c.placed.Side != said:
			wrong = append(wrong, c)
		}
	}
	found = append(found, mixed...)
	f := response.Finding{Kind: SwappedSides, Severity: response.Unfit, Time: nowhere, Duration: nowhere}
	if len(wrong) == 2 && len(r.channels) == 2 {
		f.What, f.Remedy = "left and right are swapped",
			"change over the cables, or turn the headphones round, and record again"
		return append(found, r.finding(f))
	}
	if len(wrong) < len(mixed) { // a mix of both sides explains one channel as it does the other
		return found
	}
	for _, c := range wrong {
		f.What = fmt.Sprintf("holds the sweep of the %v side", c.placed.Side)
		f.Remedy = "name the side that was recorded, or check the cables and record again"
		found = append(found, c.finding(f)...)
	}
	return found
}

// withoutMixedMarks leaves out the timing marks' levels if the sides are mixed in a channel: a mix
// just below mixedAbove in the other moves them too. A mark plays on both sides, so mixing adds the
// mark to itself; the sweep of one side stays as it is.
func withoutMixedMarks(found, sides []response.Finding) []response.Finding {
	if !slices.ContainsFunc(sides, func(s response.Finding) bool {
		return s.Kind == CopiedChannel || s.Kind == MixedSides
	}) {
		return found
	}
	return slices.DeleteFunc(found, func(f response.Finding) bool {
		_, ofMark := f.Figures[markOverSweepFigure]
		return ofMark
	})
}
