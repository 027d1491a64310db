package capture

import (
	"fmt"
	"math"

	"example.com/earnest/response"
)

// offset looks for a constant beside the sound: the mean of the quiet stretches, or the median of the means of quarters of a second, if
// that stands out of their spread.
func (c *channel) offset() {
	const warning = 1e-3 // −60 dBFS
	dc := c.mean
	if c.quiet != nil {
		var sum, n float64
		for _, x := range c.quiet {
			for _, v := range x {
				sum += v
			}
			n += float64(len(x))
		}
		dc = sum / n
	} else {
		var means []float64
		for at, n := 0, int(c.fs/4); at+n <= len(c.x); at += n {
			var sum float64
			for _, v := range c.x[at : at+n] {
				sum += v
			}
			means = append(means, sum/float64(n))
		}
		if len(means) > 1 {
			middle := medianOf(means)
			for i, m := range means {
				means[i] = math.Abs(m - middle)
			}
			if dc = middle; math.Abs(dc) < 3*medianOf(means) {
				return
			}
		}
	}
	c.mean = dc
	if math.Abs(dc) < warning {
		return
	}
	f := response.Finding{Kind: DCOffset, Severity: unfitIf(math.Abs(dc) > 0.1*(c.peak-math.Abs(dc))), Time: nowhere, Duration: nowhere,
		What:    fmt.Sprintf("has a DC offset of %s %% of full scale (%s dBFS)", signed(100*dc), signed(decibels(math.Abs(dc)))),
		Remedy:  "switch on the input's high-pass filter or another input, or remove the offset before use",
		Figures: figures{"offset": figure(dc, ""), "level": figure(decibels(math.Abs(dc)), "dBFS")}}
	if c.placed != nil {
		// Where a recording is cut out, an offset leaves two steps, each with the spectrum dc fs/(2πf).
		low := c.ref.stimulus.Sweep().Start()
		worst := 20 / math.Ln10 * math.Abs(dc) * c.fs / (math.Pi * low) / math.Sqrt(mean(c.sweepSpectrum().around(low*1.1, 1.1, 2)))
		f.Figures["error"] = figure(worst, "dB")
		f.Severity = unfitIf(worst >= worstError)
	}
	c.add(f)
}
