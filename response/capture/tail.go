package capture

import (
	"fmt"
	"math"

	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// tail looks at how the channel ends: whether the last sweep of its side is there, which it returns, and whether it has died away.
func (c *channel) tail() (whole bool) {
	n := len(c.x)
	end := decibels(max(1e-12, rmsOf([][]float64{c.x[max(0, n-2*c.frame):]})))
	if c.placed == nil {
		if end > decibels(c.quantile(0.98))-40 && end > decibels(c.quantile(0.05))+10 {
			c.add(response.Finding{Kind: CutTail, Severity: response.Note, Time: float64(n) / c.fs, Duration: nowhere,
				What:   fmt.Sprintf("ends while it sounds (%s dBFS rms)", signed(end)),
				Remedy: "record until it has died away, if its end is to be used", Figures: figures{"level": figure(end, "dBFS")}})
		}
		return true
	}
	after := c.afterSweeps()
	f := response.Finding{Kind: CutTail, Severity: response.Unfit, Time: float64(n) / c.fs, Duration: nowhere, Remedy: "record until the silence at the end is over"}
	whole = true
	switch missing := after.sweep - n; {
	case missing > 0:
		whole = false
		f.What = fmt.Sprintf("stops %s before its last sweep does", clock(float64(missing)/c.fs))
		f.Figures = figures{"missing": figure(float64(missing)/c.fs, "s")}
	case n < after.next:
		floor := decibels(max(1e-12, c.softest()))
		if end < floor+10 {
			return true
		}
		f.What = fmt.Sprintf("stops %s after its last sweep, %.0f dB above the noise: the decay is cut off", clock(float64(-missing)/c.fs), end-floor)
		f.Figures = figures{"level": figure(end, "dBFS"), "above noise": figure(end-floor, "dB")}
	default:
		c.closingMark()
		return true
	}
	c.add(f)
	return whole
}

// softest is the rms of what is known of the noise.
func (c *channel) softest() float64 {
	if c.quiet != nil {
		return rmsOf(c.quiet)
	}
	return math.Max(c.quantile(0), c.step)
}

// ending is where the last sweep of a channel ends, and where the next sound begins, in samples.
type ending struct{ sweep, next int }

func (c *channel) afterSweeps() ending {
	sweeps := c.ref.stimulus.Sweeps(c.placed.sideOr(c))
	last := sweeps[len(sweeps)-1]
	at := func(samples int) int { return int(c.placed.start) + samples }
	e := ending{at(last.Start + last.Len), at(c.ref.stimulus.Len())}
	for _, s := range c.ref.stimulus.Segments() {
		if s.Start > last.Start && s.Kind != sweep.Silence {
			e.next = at(s.Start)
			break
		}
	}
	return e
}

// closingMark says so where the recording ends before the mark at the end of the stimulus.
func (c *channel) closingMark() {
	marks := c.ref.stimulus.Find(sweep.Mark)
	if len(marks) < 2 {
		return
	}
	end := int(c.placed.start) + marks[len(marks)-1].Start + marks[len(marks)-1].Len
	if len(c.x) >= end {
		return
	}
	c.add(response.Finding{Kind: CutTail, Severity: response.Note, Time: float64(len(c.x)) / c.fs, Duration: nowhere,
		What:   fmt.Sprintf("stops %s before the closing mark does: the drift of the clocks cannot be known", clock(float64(end-len(c.x))/c.fs)),
		Remedy: "record until the silence at the end is over", Figures: figures{"missing": figure(float64(end-len(c.x))/c.fs, "s")}})
}
