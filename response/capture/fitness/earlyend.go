package fitness

import (
	"fmt"

	"example.com/earnest/response"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// detectEarlyEnd finds a recording that stops before the sweep of a channel ends, by the position
// of the stimulus in another channel, or by the opening mark.
func detectEarlyEnd(c *channel) []response.Finding {
	side := c.said(c.number)
	if !c.sought() || side == 0 {
		return nil
	}
	own := c.Stimulus.Sweeps(side)
	last := own[len(own)-1]
	for _, d := range c.channels {
		var start float64
		switch mark := c.Channels[d.number-1].LoneMark; {
		case d != c && d.placed != nil && !d.crosstalkOnly:
			start = d.start
		case d.placed == nil && !d.silent && mark > 0: // the opening mark, and no more
			start = mark - float64(c.Stimulus.Find(sweep.Mark)[0].Start)
		default:
			continue
		}
		missing := (start + float64(last.Start+last.Len) - float64(len(c.x))) / c.fs
		if missing <= placement.Spare {
			continue
		}
		return c.finding(response.Finding{Kind: CutTail, Severity: response.Unfit, Time: float64(len(c.x)) / c.fs,
			Duration: nowhere,
			What:     fmt.Sprintf("stops %s before its last sweep does", seconds(missing)),
			Remedy:   "record until the silence at the end is over",
			Figures:  figures{"missing": figure(missing, "s")}})
	}
	return nil
}
