package fitness

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// An interruption is a stretch within the channel's sweep that is 20 dB softer than the sound just
// before it and just after it. A response cannot fall and rise by so much within a thousandth of a
// sweep: about a notch it is proportional to the distance from it or to its square, which are 7 dB
// and 14 dB from the end of the stretch to where it is compared. A sine is not so soft for as
// long about its zeros.
const (
	interrupted        = 0.1   // amplitude re the sound beside it
	interruptedFor     = 0.005 // s; shorter stretches count as missing samples or clicks
	interruptedPeriods = 0.06
	besideInterruption = 0.003 // s, or a period
	settlesAtEnds      = 0.02  // s, of the sweep's fades
	failsWithin        = 3     // frames of 10 ms
	cancelledChange    = 6     // dB; two periods apart a roll-off of 12 dB per octave changes less
)

// interruption is from the sample from until the sample to, or until the end of the recording.
type interruption struct {
	from, to int
	lasting  bool
}

// interruptions returns those in the sweeps of the channel's side.
func (c *channel) interruptions() (found []interruption) {
	s := c.Stimulus.Sweep()
	for _, repeat := range c.Stimulus.Sweeps(c.side) {
		first := c.recordedAt(repeat.Start)
		begin, end := max(0, int(first+settlesAtEnds*c.fs)), min(len(c.x), int(first+float64(s.Len())-settlesAtEnds*c.fs))
		for at := begin; at < end; {
			beside, least := c.aboutInterruption(s, float64(at)-first)
			block := max(1, least/4)
			// An amplitude is at most twice the largest sample, which is known sooner.
			if at-beside < 0 || !c.softer(at, at+block, 2*c.loudest(at-beside, at)) ||
				!c.softer(at, at+block, c.amplitude(first, at-beside, at)) {
				at += block
				continue
			}
			from := at
			before := c.amplitude(first, from-beside, from)
			for from > begin && math.Abs(c.x[from-1]-c.offset) < interrupted*before {
				from--
			}
			for at < len(c.x) && math.Abs(c.x[at]-c.offset) < interrupted*before {
				at++
			}
			to := at
			switch {
			case to-from < least:
			case to < end:
				if c.softer(from+least/4, to-least/4, c.amplitude(first, to, to+beside)) &&
					!c.cancelled(first, from, to, beside) {
					found = append(found, interruption{from: from, to: to})
				}
			case to == len(c.x) && c.marksAfter(from):
				return append(found, interruption{from: from, to: to, lasting: true})
			}
		}
	}
	return found
}

// cancelled reports whether another sound may cancel the sweep in a stretch shorter than two
// periods: the sweep's level beside it changes by more than cancelledChange, or its phase turns, as
// the sound swells or dies away. Behind an open contact the sweep goes on as before.
func (c *channel) cancelled(first float64, from, to, beside int) bool {
	if to-from > 2*beside {
		return false
	}
	before := c.demodulated(first, float64(from-beside), float64(beside))
	after := c.demodulated(first, float64(to), float64(beside))
	return real(before*cmplx.Conj(after)) < 0 ||
		math.Abs(decibel.OfAmplitude(cmplx.Abs(after)/cmplx.Abs(before))) > cancelledChange
}

// aboutInterruption returns how many samples beside an interruption are compared with it, and its
// least length in samples, at a number of samples after the beginning of the sweep.
func (c *channel) aboutInterruption(s *sweep.Sweep, after float64) (beside, least int) {
	f := s.FrequencyAt(min(after/c.fs, s.Duration()))
	return int(max(besideInterruption, 1/f) * c.fs), int(max(interruptedFor, interruptedPeriods/f) * c.fs)
}

// loudest returns the largest magnitude from one sample to another.
func (c *channel) loudest(from, to int) (v float64) {
	for _, x := range c.x[max(0, from):max(0, min(len(c.x), to))] {
		v = max(v, math.Abs(x-c.offset))
	}
	return v
}

// amplitude returns that of the sweep, which begins at first, from one sample to another: neither
// clicks nor what a filter leaves of them count.
func (c *channel) amplitude(first float64, from, to int) float64 {
	return 2 * cmplx.Abs(c.demodulated(first, float64(from), float64(to-from))) / float64(to-from)
}

// softer reports whether a stretch is an interruption of a sound of that magnitude.
func (c *channel) softer(from, to int, sound float64) bool {
	return c.loudest(from, to) < interrupted*sound
}

// marksAfter reports whether a timing mark should sound after a sample, before the recording ends.
func (c *channel) marksAfter(at int) bool {
	marks := c.Stimulus.Find(sweep.Mark)
	if len(marks) < 2 {
		return false
	}
	last := marks[len(marks)-1]
	return int(c.recordedAt(last.Start)) > at && int(c.recordedAt(last.Start+last.Len)) < len(c.x)
}

// fails returns the sample from which a channel whose sweep was not found is silent, or −1: the sweep
// breaks off while another channel goes on, and the timing mark after it is missing.
func (c *channel) fails() int {
	if c.placed != nil || c.silent || c.Stimulus == nil {
		return -1
	}
	marks := c.Stimulus.Find(sweep.Mark)
	for _, d := range c.channels {
		if d.placed == nil || len(marks) < 2 {
			continue
		}
		first := int(d.recordedAt(c.Stimulus.Sweeps(d.other())[0].Start))
		last := int(d.recordedAt(marks[len(marks)-1].Start)) / c.frame
		if first < 0 || last+1 >= len(c.frames) {
			continue
		}
		from, to := first/c.frame, min(last, (first+c.Stimulus.Sweep().Len())/c.frame)
		after := slices.Max(c.frames[to:])
		for k := to - 1; k > from+failsWithin; k-- {
			if interrupted*c.frames[k-failsWithin] > max(after, c.frames[k]) {
				return (k - failsWithin + 1) * c.frame
			}
			after = max(after, c.frames[k])
		}
	}
	return -1
}

// detectInterruptions finds stretches in which the sound is gone while the sweep plays: a contact
// opens, a driver or a link fails.
func detectInterruptions(c *channel) []response.Finding {
	var all []interruption
	if at := c.fails(); at >= 0 {
		all = []interruption{{from: at, lasting: true}}
	} else if c.placed != nil && c.breaks.held == nil { // digital silence is no contact's
		all = c.interruptions()
	}
	if len(all) == 0 {
		return nil
	}
	t, lasts := float64(all[0].from)/c.fs, float64(all[0].to-all[0].from)/c.fs
	f := response.Finding{Kind: SilentChannel, Severity: response.Unfit, Time: t, Duration: lasts,
		What:    fmt.Sprintf("falls silent at %s for %.0f ms", seconds(t), 1000*lasts),
		Remedy:  "push the plugs in, check the cable, the driver and the link to it, and record again",
		Figures: figures{"interruptions": figure(float64(len(all)), "")}}
	switch {
	case all[0].lasting:
		f.Duration = nowhere
		f.What = fmt.Sprintf("falls silent at %s and stays so", seconds(t))
	case len(all) > 1:
		f.What = fmt.Sprintf("falls silent %s times while the sweep plays, first at %s for %.0f ms",
			count(len(all)), seconds(t), 1000*lasts)
	}
	f.What += ": a contact opens, or a driver or a link fails"
	return c.finding(f)
}
