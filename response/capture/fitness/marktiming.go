package fitness

import (
	"fmt"
	"math"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

// detectMarkTiming compares the places of marks and sweep with those in the stimulus. A clock that
// runs at another rate stretches all of them alike; a block that is missing, even from silence,
// does not. Less than a millisecond may be the headphones' own delay, which differs between the
// bands of mark and sweep.
func detectMarkTiming(c *channel) []response.Finding {
	if c.placed == nil || c.placed.Side == 0 || math.IsNaN(c.placed.Marks[0]+c.placed.Marks[1]) {
		return nil
	}
	marks, s := c.Stimulus.Find(sweep.Mark), c.Stimulus.Sweep()
	ratio := (c.placed.Marks[1] - c.placed.Marks[0]) / float64(marks[1].Start-marks[0].Start)
	// A stretched sweep matches best where it passes the middle of the band in which it is looked
	// for.
	middle := c.fs * s.TimeAt(max(s.Start(), min(1500, s.Stop()/2)))
	distance := float64(c.Stimulus.Sweeps(c.placed.Side)[0].Start-marks[0].Start) + middle
	early := (distance*ratio - (c.placed.Sweep + middle - c.placed.Marks[0])) / c.fs
	switch ppm := 1e6 * (ratio - 1); {
	case math.Abs(early) > 1e-3:
		return c.finding(response.Finding{Kind: DroppedSamples, Severity: response.Unfit, Time: nowhere, Duration: nowhere,
			What:    fmt.Sprintf("holds its sweep %.1f ms off its place between the marks: samples are missing or too many", 1000*math.Abs(early)),
			Remedy:  "raise the recorder's buffer size, close other programs, and record again",
			Figures: figures{"off by": figure(early, "s")}})
	case math.Abs(ppm) > 1.5*capture.MaxDrift:
		return c.finding(response.Finding{Kind: WrongRate, Severity: response.Unfit, Time: nowhere, Duration: nowhere,
			What:    fmt.Sprintf("runs %.0f parts per million off the player's clock, more than crystals differ by", math.Abs(ppm)),
			Remedy:  "set player and recorder to the same sample rate and record again",
			Figures: figures{"drift": figure(ppm, "ppm")}})
	}
	return nil
}

// detectLateBands finds what detectMarkTiming is too coarse for: where mark and sweep are compared
// in the same third octaves, the headphones' own delay cancels, and a few samples show that are
// missing, or too many, before the sweep has passed there.
func detectLateBands(c *channel) []response.Finding {
	late := c.lateBetweenMarks()
	if !(math.Abs(late) > markLate) {
		return nil
	}
	return c.finding(response.Finding{Kind: DroppedSamples, Severity: unfitIf(math.Abs(late) > 2*markLate), Time: nowhere, Duration: nowhere,
		What:    fmt.Sprintf("holds its sweep %.2g ms off its place between the marks: samples are missing or too many", 1000*math.Abs(late)/c.fs),
		Remedy:  "raise the recorder's buffer size, close other programs, and record again",
		Figures: figures{"off by": figure(late/c.fs, "s")}})
}
