package capture

import (
	"fmt"
	"math"

	"example.com/earnest/response"
)

// isMute tells whether there is nothing in the channel: it stays below −80 dBFS, its mean apart.
func (c *channel) isMute() bool {
	for _, v := range c.x {
		if math.Abs(v-c.mean) >= 1e-4 {
			return false
		}
	}
	return true
}

// absent looks for channels without what they should hold.
func (e *examination) absent() {
	loudest, found := 0.0, false
	for _, c := range e.channels {
		loudest = max(loudest, c.rms)
		found = found || c.placed != nil
	}
	silent := func(c *channel, how string) {
		level := decibels(math.Sqrt(max(0, c.rms*c.rms-c.mean*c.mean)))
		f := response.Finding{Kind: SilentChannel, Severity: response.Unfit, Time: 0, Duration: float64(len(c.x)) / c.fs,
			What: fmt.Sprintf("%s %s", e.label(c.number), how), Channel: c.number,
			Remedy: "check the cable, the input and its gain, and record again"}
		if !math.IsInf(level, 0) {
			f.What += fmt.Sprintf(" (%s dBFS rms)", signed(level))
			f.Figures = figures{"level": figure(level, "dBFS")}
		}
		e.add(f)
	}
	for _, c := range e.channels {
		sought := e.ref != nil && e.ref.stimulus.Sweep().SampleRate() == e.Recording.SampleRate
		switch {
		case c.mute:
			silent(c, "is silent")
		case c.placed != nil || !sought && c.sounds(loudest):
		case sought && e.early(c):
		case !sought || found && c.rms < loudest/10:
			silent(c, "holds nothing but noise")
		default:
			f := response.Finding{Kind: NoSweep, Severity: response.Unfit, Channel: c.number, Time: nowhere, Duration: nowhere,
				What:   e.label(c.number) + " does not hold the sweep that was played",
				Remedy: "check that this is a recording of that stimulus"}
			if rate := c.otherSpeed(minProminence); rate != 0 {
				f.What += fmt.Sprintf(": it holds it as recorded at %d Hz and labelled %d Hz", rate, e.Recording.SampleRate)
				f.Remedy = "set player and recorder to the rate of the session, and record again"
				f.Figures = figures{"recorded at": figure(float64(rate), "Hz")}
			}
			e.add(f)
		}
	}
}

// sounds tells whether anything stands out of what a channel holds all the time, or is at least not far below the other channels.
func (c *channel) sounds(loudest float64) bool {
	steady := c.quantile(0.99) < 2*c.quantile(0.05)
	return !(steady && (c.rms < loudest/300 || c.peak < 3e-3))
}
