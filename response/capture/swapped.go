package capture

import (
	"fmt"

	"example.com/earnest/sweep"
)

// swapped looks for sweeps that are in the channel of the other side. One that is 20 dB softer there than in the other channel, at the same time,
// is only what spills over: the side itself is missing.
func (e *examination) swapped() {
	var wrong []*channel
	for _, c := range e.channels {
		want := e.side(c.number)
		if c.placed == nil || want == sweep.Silence || c.placed.side == sweep.Silence || c.placed.side == want {
			continue
		}
		if e.spills(c) {
			e.add(Finding{Kind: SilentChannel, Severity: Unfit, Channel: c.number, Time: 0, Duration: float64(len(c.x)) / c.fs,
				What:   fmt.Sprintf("%s holds only what spills over from the other side", e.label(c.number)),
				Remedy: "check the cable, the input and the driver of that side, and record again"})
			continue
		}
		wrong = append(wrong, c)
	}
	f := Finding{Kind: SwappedSides, Severity: Unfit, Time: nowhere, Duration: nowhere}
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

func (e *examination) spills(c *channel) bool {
	for _, d := range e.channels {
		if d != c && d.placed != nil && d.placed.side == c.placed.side && c.placed.height < d.placed.height/10 {
			return true
		}
	}
	return false
}
