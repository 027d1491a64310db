package capture

import (
	"fmt"
	"math"
	"time"

	"example.com/earnest/sweep"
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
		f := Finding{Kind: SilentChannel, Severity: Unfit, Time: 0, Duration: float64(len(c.x)) / c.fs,
			What: fmt.Sprintf("%s %s", e.label(c.number), how), Channel: c.number,
			Remedy: "check the cable, the input and its gain, and record again"}
		if !math.IsInf(level, 0) {
			f.What += fmt.Sprintf(" (%s dBFS rms)", signed(level))
			f.Figures = []Figure{{"level", level, "dBFS"}}
		}
		e.add(f)
	}
	for _, c := range e.channels {
		sought := e.ref != nil && e.ref.stimulus.Sweep().SampleRate() == e.Recording.SampleRate
		switch {
		case c.mute:
			silent(c, "is silent")
		case c.placed != nil || !sought && c.sounds(loudest):
		case !sought || found && c.rms < loudest/10:
			silent(c, "holds nothing but noise")
		default:
			e.add(Finding{Kind: NoSweep, Severity: Unfit, Channel: c.number, Time: nowhere, Duration: nowhere,
				What:   e.label(c.number) + " does not hold the sweep that was played" + c.atOtherSpeed(),
				Remedy: "check that this is a recording of that stimulus, at its speed"})
		}
	}
}

// sounds tells whether anything stands out of what a channel holds all the time, or is at least not far below the other channels.
func (c *channel) sounds(loudest float64) bool {
	steady := c.quantile(0.99) < 2*c.quantile(0.05)
	return !(steady && (c.rms < loudest/300 || c.peak < 3e-3))
}

// atOtherSpeed says so where the sweep is there, but as in a file that is labelled with another rate than it was recorded at: it then
// sounds higher and shorter, or lower and longer.
func (c *channel) atOtherSpeed() string {
	s := c.ref.stimulus.Sweep()
	x := thin(c.x, c.ref.thinned)
	for _, rate := range []int{44100, 48000, 88200, 96000} {
		speed := float64(s.SampleRate()) / float64(rate)
		if speed == 1 || speed > 2 || speed < 0.5 {
			continue
		}
		stop := min(s.Stop()*speed, float64(s.SampleRate())/2)
		duration := s.Rate() / speed * math.Log(stop/(s.Start()*speed))
		other, err := sweep.New(sweep.Config{Start: s.Start() * speed, Stop: stop, SampleRate: s.SampleRate(),
			Duration: time.Duration(duration * float64(time.Second))})
		if err != nil {
			continue
		}
		sound := thin(other.Samples(), c.ref.thinned)
		match := newMatcher(c.plans, x, sound).with(sound)
		if decibels(highest(match, 0, len(match))/medianMagnitude(match)) >= minProminence {
			return fmt.Sprintf(": it is there as recorded at %d Hz and labelled %d Hz", rate, s.SampleRate())
		}
	}
	return ""
}
