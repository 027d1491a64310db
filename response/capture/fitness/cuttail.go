package fitness

import (
	"fmt"

	"example.com/earnest/response"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// trimmed is the largest time in seconds after the last sweep at which a recording counts as
// trimmed to its last sound. Then only the highest frequencies, with which a sweep ends, are cut
// off, and they decay within milliseconds.
const trimmed = 0.05

// softest returns the rms of the noise or, without a quiet stretch, of the softest frame.
func (c *channel) softest() float64 {
	if c.quiet != nil {
		return c.noise
	}
	return max(c.quantile(0), c.step)
}

// afterSweeps returns the samples at which the last sweep of a channel ends, and the next sound
// begins.
func (c *channel) afterSweeps() (swept, next int) {
	sweeps := c.Stimulus.Sweeps(c.side)
	last := sweeps[len(sweeps)-1]
	next = c.Stimulus.Len()
	for _, s := range c.Stimulus.Segments() {
		if s.Start > last.Start && s.Kind != sweep.Silence {
			next = s.Start
			break
		}
	}
	return int(c.recordedAt(last.Start + last.Len)), int(c.recordedAt(next))
}

// detectCutTail examines the end of the channel: whether the last sweep of its side is whole, which
// it also returns, and whether it has died away.
func detectCutTail(c *channel) (found []response.Finding, whole bool) {
	n := len(c.x)
	end := dBFS(max(1e-12, rmsOf([][]float64{c.x[max(0, n-2*c.frame):]})))
	f := response.Finding{Kind: CutTail, Severity: response.Unfit, Time: float64(n) / c.fs, Duration: nowhere,
		Remedy: "record until the silence at the end is over"}
	if c.placed == nil {
		if end <= dBFS(c.quantile(0.98))-40 || end <= dBFS(c.quantile(0.05))+10 {
			return nil, true
		}
		f.Severity = response.Note
		f.What = fmt.Sprintf("ends during the sound (%s dBFS rms)", signed(end, 1))
		f.Remedy = "to use the end, record until the sound has died away"
		f.Figures = figures{"level": figure(end, "dBFS")}
		return c.finding(f), true
	}
	swept, next := c.afterSweeps()
	switch missing := float64(swept-n) / c.fs; {
	case missing > 0 && missing <= placement.Spare:
		f.Severity = response.Note
		f.What = fmt.Sprintf("stops %.1f ms before its last sweep does; the missing end is taken as silent", 1000*missing)
		f.Figures = figures{"missing": figure(missing, "s")}
		return c.finding(f), true
	case missing > 0:
		f.What = fmt.Sprintf("stops %s before its last sweep does", seconds(missing))
		f.Figures = figures{"missing": figure(missing, "s")}
		return c.finding(f), false
	case n < next:
		floor := dBFS(max(1e-12, c.softest()))
		if end < floor+10 || -missing > response.DefaultAfter.Seconds() { // later sound is not used
			return nil, true
		}
		f.What = fmt.Sprintf("stops %s after its last sweep, %.0f dB above the noise: the decay is cut off",
			seconds(-missing), end-floor)
		if -missing < trimmed {
			f.Severity = response.Note
			f.What = fmt.Sprintf("stops %.0f ms after its last sweep: "+
				"the decay of the highest frequencies is cut off", -1000*missing)
		}
		f.Figures = figures{"level": figure(end, "dBFS"), "above noise": figure(end-floor, "dB")}
		return c.finding(f), true
	}
	marks := c.Stimulus.Find(sweep.Mark)
	if len(marks) < 2 {
		return nil, true
	}
	closing := marks[len(marks)-1]
	missing := (c.recordedAt(closing.Start+closing.Len) - float64(n)) / c.fs
	if missing <= 0 {
		return nil, true
	}
	f.Severity = response.Note
	f.What = fmt.Sprintf("stops %s before the closing mark does: the drift of the clocks cannot be known",
		seconds(missing))
	f.Figures = figures{"missing": figure(missing, "s")}
	return c.finding(f), true
}
