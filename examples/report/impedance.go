package report

import (
	"slices"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/target"
	"example.com/earnest/target/review"
)

// impedanceJSON is the magnitude of the impedance, at the frequencies of the
// response.
type impedanceJSON struct {
	At1kHz      figureJSON `json:"at_1_khz"`
	Lowest      figureJSON `json:"lowest"` // in the audible range
	LowestHz    number     `json:"lowest_hz"`
	ValidHz     [2]number  `json:"valid_hz"`
	FrequencyHz []number   `json:"frequency_hz"`
	Magnitude   []number   `json:"magnitude_ohm"`
	Uncertainty []number   `json:"uncertainty_ohm"` // standard
	HalfWidth95 []number   `json:"half_width_95_ohm"`
	// Output is null if no amplifier with an output impedance is named.
	Output  *outputJSON `json:"output"`
	Remarks []string    `json:"remarks"`
}

// newImpedance returns nil if the impedance was not measured.
func newImpedance(r *review.Results) *impedanceJSON {
	if r.Impedance == nil {
		return nil
	}
	z, grid := r.Impedance, r.Mean.Frequency
	magnitude, uncertainty := make([]float64, len(grid)), make([]float64, len(grid))
	for i, f := range grid {
		at := z.At(f)
		magnitude[i], uncertainty[i] = at.Value, at.Uncertainty
	}
	lowest, hz := r.Impedance.Lowest(target.Audible)
	out := &impedanceJSON{
		At1kHz: newFigure(z.At(1000)), Lowest: newFigure(lowest), LowestHz: number(hz), ValidHz: newBand(r.Impedance.Valid),
		FrequencyHz: numbers(grid), Magnitude: numbers(magnitude), Uncertainty: numbers(uncertainty),
		HalfWidth95: numbers(halfWidths(uncertainty)),
		Remarks:     remarks(r.Impedance.Findings),
	}
	if r.OutputLoss != nil {
		c := r.OutputLoss.Resample(grid)
		out.Output = &outputJSON{r.Drive.AmplifierName, r.Drive.Amplifier.OutputImpedance.Value, numbers(c.Level),
			numbers(c.Uncertainty), numbers(halfWidths(c.Uncertainty))}
	}
	return out
}

// outputJSON holds the change of the response by an amplifier's output impedance, at the same
// frequencies.
type outputJSON struct {
	Amplifier   string   `json:"amplifier"`
	Ohms        float64  `json:"output_ohm"`
	Change      []number `json:"change_db"`
	Uncertainty []number `json:"uncertainty_db"` // standard
	HalfWidth95 []number `json:"half_width_95_db"`
}

func (l language) impedancePlot(r *review.Results) plot.Plot {
	z := r.Impedance
	s := plot.Series{Name: l.Text("impedance.curve"), X: z.Frequency, Y: z.Magnitude(), Style: plot.Blue}
	if z.Uncertainty != nil {
		for i, half := range halfWidths(z.Uncertainty) {
			s.Low, s.High = append(s.Low, s.Y[i]-half), append(s.High, s.Y[i]+half)
		}
	}
	p := plot.Plot{
		ID: "impedance", Title: l.Text("plot.impedance"), X: l.Frequency(20, 20000), Series: []plot.Series{s},
		Notes: slices.Concat([]string{l.Text("impedance.note")},
			l.shading(z.Uncertainty), l.remarks(z.Findings)),
	}
	_, high := plot.Span(p.X, 10, s)
	p.Y = plot.Axis{Label: l.Text("axis.impedance"), Unit: "Ω", Min: 0, Max: high}
	lowest, at := z.Lowest(target.Audible)
	p.Summary = l.Text("impedance.summary", l.Interval(z.At(1000)), l.Interval(lowest), l.plainHz(at))
	return p
}

func (l language) outputLossPlot(r *review.Results) plot.Plot {
	c := *r.OutputLoss
	p := plot.Plot{
		ID: "output", Title: l.Text("plot.output", r.Drive.Amplifier.OutputImpedance.Value),
		X: l.Frequency(20, 20000), Series: []plot.Series{curve(l.Text("output.curve"), c, halfWidths(c.Uncertainty),
			plot.Violet)},
		DecibelsPerDecade: 10, Notes: l.shading(c.Uncertainty),
		Summary: l.Text("output.summary", r.Drive.AmplifierName, c.At(1000)),
	}
	p.Y = levelAxis(l.Text("axis.change"), p.X, 1, 3, p.Series)
	return p
}
