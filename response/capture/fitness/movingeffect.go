package fitness

import (
	"fmt"
	"math"
	"slices"

	"example.com/earnest/response"
)

// detectMovingEffect finds an effect that moves the sound, such as a chorus or a flanger. The
// response to a timing mark then differs from that to the sweep in level and in delay. Other faults
// do that too, so it finds nothing if one is known, except those that leave the marks as they are.
func detectMovingEffect(r *recording, known []response.Finding) (found []response.Finding) {
	harmless := []response.FindingKind{DCOffset, MainsHum, SteadyTone, LowLevel, Disturbance}
	if slices.ContainsFunc(known, func(f response.Finding) bool { return !slices.Contains(harmless, f.Kind) }) {
		return nil
	}
	for _, c := range r.channels {
		if c.placed == nil || c.silent || c.crosstalkOnly {
			continue
		}
		off := math.Abs(c.markOverSweep())
		if off == 0 || !c.late() {
			continue
		}
		late := math.Abs(c.lateBetweenMarks()) / c.fs
		found = append(found, c.finding(response.Finding{Kind: Wow, Severity: unfitIf(off > 5*worstError),
			Time: nowhere, Duration: nowhere,
			What: fmt.Sprintf("holds the timing mark at a level %.2g dB from that of the sweep at the same frequencies, "+
				"and up to %.2g ms off its place: an effect such as a chorus or a flanger moves the sound, "+
				"and the response is off by at least as much", off, 1000*late),
			Remedy:  "switch off effects in player and recorder, and record again",
			Figures: figures{markOverSweepFigure: figure(off, "dB"), "off by": figure(late, "s")}})...)
	}
	return found
}
