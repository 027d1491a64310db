package capture

import (
	"fmt"
	"math"

	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// timing compares the places of marks and sweep with those in the stimulus. A clock that runs at another rate stretches all of them
// alike; a block that is missing, even from silence, does not. What is less than a millisecond may be the headphones' own delay, which
// differs between the bands of mark and sweep. Where a break was found already, it is not said twice.
func (c *channel) timing() {
	if c.placed == nil || c.placed.side == 0 || math.IsNaN(c.placed.marks[0]+c.placed.marks[1]) || c.jumped {
		return
	}
	marks, s := c.ref.stimulus.Find(sweep.Mark), c.ref.stimulus.Sweep()
	ratio := (c.placed.marks[1] - c.placed.marks[0]) / float64(marks[1].Start-marks[0].Start)
	// A stretched sweep matches best where it passes the middle of the band in which it is looked for.
	middle := c.fs * s.TimeAt(max(s.Start(), min(1500, s.Stop()/2)))
	distance := float64(c.ref.stimulus.Sweeps(c.placed.side)[0].Start-marks[0].Start) + middle
	early := (distance*ratio - (c.placed.at + middle - c.placed.marks[0])) / c.fs
	switch ppm := 1e6 * (ratio - 1); {
	case math.Abs(early) > 1e-3:
		c.add(response.Finding{Kind: DroppedSamples, Severity: response.Unfit, Time: nowhere, Duration: nowhere,
			What:    fmt.Sprintf("holds its sweep %.1f ms off its place between the marks: samples are missing or too many", 1000*math.Abs(early)),
			Remedy:  "raise the recorder's buffer size, close other programs, and record again",
			Figures: figures{"off by": figure(early, "s")}})
	case math.Abs(ppm) > 1.5*MaxDrift:
		c.add(response.Finding{Kind: WrongRate, Severity: response.Unfit, Time: nowhere, Duration: nowhere,
			What:    fmt.Sprintf("runs %.0f parts per million off the player's clock, more than crystals differ by", math.Abs(ppm)),
			Remedy:  "set player and recorder to the same sample rate and record again",
			Figures: figures{"drift": figure(ppm, "ppm")}})
	}
}
