package recognise

import (
	"fmt"
	"math"
)

// rate returns that of the law: the time constant, or the hertz per second.
func (c Content) rate() float64 {
	if c.Kind == ExponentialSweep {
		return c.TimeConstant
	}
	return (c.Stop - c.Start) / float64(c.Len) * float64(c.SampleRate)
}

// Mismatch returns the reason why recorded cannot be a recording of played, as far as sweeps tell:
// another sweep, or the same sweep at another speed. It is empty if they agree, and if nothing was
// recognised.
func Mismatch(played, recorded []Content) string {
	wanted, heard := theSweep(played), theSweep(recorded)
	if wanted == nil || heard == nil {
		return ""
	}
	for _, c := range recorded {
		if c.Kind == wanted.Kind && math.Abs(c.rate()/wanted.rate()-1) < 0.003 {
			return ""
		}
	}
	const otherSpeed = "the sweep was recorded at %.5g times the speed at which it was played: " +
		"player and recorder, or the file and its label, " +
		"have different sample rates; set both alike, and record again"
	if heard.Kind == wanted.Kind {
		speed := wanted.rate() / heard.rate() // exponential: L shrinks as the speed grows
		if heard.Kind == LinearSweep {
			speed = math.Sqrt(heard.rate() / wanted.rate())
		}
		if math.Abs(heard.Start/wanted.Start/speed-1) < 0.05 {
			return fmt.Sprintf(otherSpeed, speed)
		}
	}
	return fmt.Sprintf("the recording is of another sweep: it holds %v, and %v was played; "+
		"name the file that was played, or record that one", heard, wanted)
}

// theSweep returns the longest sweep, or nil if there is none.
func theSweep(all []Content) (longest *Content) {
	for i, c := range all {
		if (c.Kind == ExponentialSweep || c.Kind == LinearSweep) && (longest == nil || c.Len > longest.Len) {
			longest = &all[i]
		}
	}
	return longest
}
