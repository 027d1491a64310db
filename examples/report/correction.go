package report

import (
	"example.com/earnest/examples/report/plot"
	"example.com/earnest/target/correction"
	"example.com/earnest/target/review"
)

// filterJSON is one corrective filter, of the Audio EQ Cookbook.
type filterJSON struct {
	Shape       string  `json:"shape"`
	FrequencyHz float64 `json:"frequency_hz"`
	GainDB      float64 `json:"gain_db"`
	Q           float64 `json:"q"`
}

// correctionJSON holds the effect of a few gentle filters.
type correctionJSON struct {
	Filters  []filterJSON `json:"filters"`
	PreampDB number       `json:"preamp_db"`
	Before   figureJSON   `json:"rms_before"`
	After    figureJSON   `json:"rms_after"` // of a seating that the filters were not fitted to
	// Warnings belong beside the filters.
	Warnings []string `json:"warnings"`
}

func newCorrection(j *review.Judgement) *correctionJSON {
	c := j.Correction
	if c == nil {
		return nil
	}
	out := &correctionJSON{Filters: []filterJSON{}, PreampDB: number(c.Preamp), Before: newFigure(c.Before.RMS),
		After: newFigure(c.NewSeating), Warnings: list(c.Warnings)}
	for _, f := range c.Filters {
		out.Filters = append(out.Filters, filterJSON{string(f.Shape), f.Frequency, f.Gain, f.Q})
	}
	return out
}

// correctionPlot draws the deviation from the target before and after the corrective filters, and
// their response.
func (l language) correctionPlot(c *correction.Correction) plot.Plot {
	p := plot.Plot{
		ID: "correction", Title: l.Text("plot.correction"), X: l.Frequency(20, 20000),
		Series: []plot.Series{
			curve(l.Text("correction.before"), c.Before.Curve, nil, plot.Vermilion),
			curve(l.Text("correction.after"), c.After.Curve, nil, plot.Blue),
			curve(l.Text("correction.filters"), c.Level, nil, plot.Violet),
		},
		Summary: l.Text("correction.summary", len(c.Filters), l.Interval(c.Before.RMS), l.AtMost(c.NewSeating)),
		Notes:   c.Warnings,
	}
	p.Y = levelAxis(l.Text("axis.deviation"), p.X, 5, 10, p.Series)
	return p
}
