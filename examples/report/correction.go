package report

import (
	"fmt"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/target/review"
)

// correctionPlot draws the deviation from the target before and after the
// corrective filters, and what they add.
func correctionPlot(j *review.Judgement) plot.Plot {
	c := j.Correction
	p := plot.Plot{
		ID: "correction", Title: "Deviation before and after correction", X: plot.Frequency(20, 20000),
		Series: []plot.Series{
			curve("before", c.Before.Curve, nil, plot.Vermilion),
			curve("after", c.After.Curve, nil, plot.Blue),
			curve("the filters", c.Level, nil, plot.Violet),
		},
		Summary: fmt.Sprintf("%d filters would bring the rms deviation from %s to %s.", len(c.Filters), interval(figure(c.Before.RMS)), atMost(figure(c.After.RMS))),
		Notes:   c.Warnings,
	}
	p.Y = levelAxis("Deviation", p.X, 5, 10, p.Series)
	return p
}

// Filter is one corrective filter, of the Audio EQ Cookbook.
type Filter struct {
	Shape       string  `json:"shape"`
	FrequencyHz float64 `json:"frequency_hz"`
	GainDB      float64 `json:"gain_db"`
	Q           float64 `json:"q"`
}

// Correction is what a few gentle filters could do.
type Correction struct {
	Filters  []Filter `json:"filters"`
	PreampDB Number   `json:"preamp_db"`
	Before   Figure   `json:"rms_before"`
	After    Figure   `json:"rms_after"`
	// Warnings belong beside the filters.
	Warnings []string `json:"warnings"`
}

func compileCorrection(j *review.Judgement) *Correction {
	c := j.Correction
	if c == nil {
		return nil
	}
	out := &Correction{Filters: []Filter{}, PreampDB: Number(c.Preamp), Before: figure(c.Before.RMS), After: figure(c.After.RMS), Warnings: list(c.Warnings)}
	for _, f := range c.Filters {
		out.Filters = append(out.Filters, Filter{f.Shape.String(), f.Frequency, f.Gain, f.Q})
	}
	return out
}
