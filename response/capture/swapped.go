package capture

import (
	"fmt"
	"math"

	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// swapped looks for sweeps that are in the channel of the other side. Where both channels hold the same one, at the same time, they were fed
// from one input, though each may have noise of its own: that is a copy.
func (e *examination) swapped() {
	var wrong []*channel
	if a, b := e.pair(); a != nil && a.placed != nil && b.placed != nil && !a.stray && !b.stray && math.Abs(a.placed.at-b.placed.at) < a.fs/20 {
		e.add(response.Finding{Kind: CopiedChannel, Severity: response.Unfit, Channel: b.number, Time: nowhere, Duration: nowhere,
			What:   "both channels hold the same sweep",
			Remedy: "set the recorder to record its inputs separately, and record again"})
		return
	}
	for _, c := range e.channels {
		want := e.side(c.number)
		if c.stray {
			e.strayed(c)
			continue
		}
		if c.placed == nil || want == 0 || c.placed.side == 0 || c.placed.side == want {
			continue
		}
		wrong = append(wrong, c)
	}
	f := response.Finding{Kind: SwappedSides, Severity: response.Unfit, Time: nowhere, Duration: nowhere}
	switch {
	case len(wrong) == 2 && len(e.channels) == 2:
		f.What, f.Remedy = "left and right are swapped", "change over the cables, or turn the headphones round, and record again"
		e.add(f)
	default:
		for _, c := range wrong {
			f.Channel = c.number
			f.What = fmt.Sprintf("%s holds the sweep of the %s side", e.label(c.number), sideName(c.placed.side))
			f.Remedy = "name the side that was recorded, or check the cables and record again"
			e.add(f)
		}
	}
}

// strayed explains a channel that holds only what spills over: the recording ended before its own sweep, or there is none.
func (e *examination) strayed(c *channel) {
	if e.early(c) {
		return
	}
	e.add(response.Finding{Kind: SilentChannel, Severity: response.Unfit, Channel: c.number, Time: 0, Duration: float64(len(c.x)) / c.fs,
		What:   fmt.Sprintf("%s holds only what spills over from the other side", e.label(c.number)),
		Remedy: "check the cable, the input and the driver of that side, and record again"})
}

// early says so where the recording stops before the sweep of a channel has, by the place of the stimulus in another, or of the opening mark.
func (e *examination) early(c *channel) bool {
	side := e.side(c.number)
	if side != sweep.Left && side != sweep.Right {
		return false
	}
	own := e.ref.stimulus.Sweeps(side)
	last := own[len(own)-1]
	for _, d := range e.channels {
		var start float64
		switch {
		case d != c && d.placed != nil && !d.stray:
			start = d.placed.start
		case d.placed == nil && d.lone > 0: // the opening mark, and no more
			start = float64(d.lone - e.ref.stimulus.Find(sweep.Mark)[0].Start)
		default:
			continue
		}
		missing := start + float64(last.Start+last.Len) - float64(len(c.x))
		if missing <= 0 {
			continue
		}
		e.add(response.Finding{Kind: CutTail, Severity: response.Unfit, Channel: c.number, Time: float64(len(c.x)) / c.fs, Duration: nowhere,
			What:    fmt.Sprintf("%s stops %s before its last sweep does", e.label(c.number), clock(missing/c.fs)),
			Remedy:  "record until the silence at the end is over",
			Figures: figures{"missing": figure(missing/c.fs, "s")}})
		return true
	}
	return false
}
