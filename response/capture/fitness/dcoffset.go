package fitness

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
)

// findOffset returns the mean of the quiet stretches, or else the median of the means of quarters
// of a second, and whether it stands out of their spread.
func (c *channel) findOffset() (offset float64, stands bool) {
	if c.quiet != nil {
		var sum, n float64
		for _, x := range c.quiet {
			sum += floats.Sum(x)
			n += float64(len(x))
		}
		return sum / n, true
	}
	var means []float64
	for at, n := 0, int(c.fs/4); at+n <= len(c.x); at += n {
		means = append(means, stat.Mean(c.x[at:at+n], nil))
	}
	if len(means) < 2 {
		return c.mean, true
	}
	middle, spread := statistic.MedianDeviation(means)
	if math.Abs(middle) < 3*spread {
		return c.mean, false
	}
	return middle, true
}

// offsetMoves returns the largest change of the offset between the quiet stretches; without one,
// the offset itself.
func (c *channel) offsetMoves() (most float64) {
	if c.quiet == nil {
		return math.Abs(c.offset)
	}
	for _, x := range c.quiet {
		most = max(most, math.Abs(stat.Mean(x, nil)-c.offset))
	}
	return most
}

// detectDCOffset finds a constant beside the sound. A take of the stimulus is cut out without the
// offset of its silence (placement.Placement.Take), so that only a change of it moves a response.
func detectDCOffset(c *channel) []response.Finding {
	const warning = 1e-3 // −60 dBFS
	dc := c.offset
	if !c.offsetStands || math.Abs(dc) < warning {
		return nil
	}
	f := response.Finding{Kind: DCOffset, Severity: unfitIf(math.Abs(dc) > 0.1*(c.peak-math.Abs(dc))),
		Time: nowhere, Duration: nowhere,
		What: fmt.Sprintf("has a DC offset of %s %% of full scale (%s dBFS)",
			signed(100*dc, 1), signed(dBFS(math.Abs(dc)), 1)),
		Remedy:  "switch on the input's high-pass filter or another input, or remove the offset before use",
		Figures: figures{"offset": figure(dc, ""), "level": figure(dBFS(math.Abs(dc)), "dBFS")}}
	if c.placed != nil {
		// A step has the spectrum of its height fs/(2πf). A take has one at each end.
		low := c.Stimulus.Sweep().Start()
		worst := decibel.PerNeper * c.offsetMoves() * c.fs / (math.Pi * low) / math.Sqrt(
			stat.Mean(c.swept().around(low*1.1, 1.1, 2), nil))
		f.Figures["error"] = figure(worst, "dB")
		f.Severity = max(f.Severity-response.Warning, grade(worst, noticeableError, worstError)) // a warning where it takes room
		if f.What += "; the measurement subtracts it"; worst >= noticeableError {
			f.What += fmt.Sprintf(", but it changes, and the response is off by up to %.2g dB at %.0f Hz", worst, low)
		}
	}
	return c.finding(f)
}
