package report

import (
	"fmt"
	"slices"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/review"
)

// impedanceJSON is the magnitude of the impedance, at the frequencies of the
// response.
type impedanceJSON struct {
	At1kHz      figureJSON `json:"at_1_khz"`
	Lowest      figureJSON `json:"lowest"` // of what is audible
	LowestHz    number     `json:"lowest_hz"`
	ValidHz     [2]number  `json:"valid_hz"`
	FrequencyHz []number   `json:"frequency_hz"`
	Magnitude   []number   `json:"magnitude_ohm"`
	Uncertainty []number   `json:"uncertainty_ohm"` // standard
	HalfWidth95 []number   `json:"half_width_95_ohm"`
	// Output is null where no amplifier with an output impedance is named.
	Output  *outputJSON `json:"output"`
	Remarks []string    `json:"remarks"`
}

// outputJSON is what an amplifier's output impedance makes of the response, at the
// same frequencies.
type outputJSON struct {
	Amplifier   string   `json:"amplifier"`
	Ohms        float64  `json:"output_ohm"`
	Change      []number `json:"change_db"`
	Uncertainty []number `json:"uncertainty_db"` // standard
	HalfWidth95 []number `json:"half_width_95_db"`
}

// newImpedance is nil where it was not measured.
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

func impedancePlot(r *review.Results) plot.Plot {
	z := r.Impedance
	s := plot.Series{Name: "magnitude", X: z.Frequency, Y: z.Magnitude(), Style: plot.Blue}
	if z.Uncertainty != nil {
		for i, half := range halfWidths(z.Uncertainty) {
			s.Low, s.High = append(s.Low, s.Y[i]-half), append(s.High, s.Y[i]+half)
		}
	}
	p := plot.Plot{
		ID: "impedance", Title: "Magnitude of the impedance", X: plot.Frequency(20, 20000), Series: []plot.Series{s},
		Notes: slices.Concat([]string{"From noise across a known resistor and the headphones in series."},
			shading(z.Uncertainty), remarks(z.Findings)),
	}
	_, high := plot.Span(p.X, 10, s)
	p.Y = plot.Axis{Label: "Impedance", Unit: "Ω", Min: 0, Max: high}
	lowest, at := z.Lowest(target.Audible)
	p.Summary = fmt.Sprintf("The impedance is %s at 1 kHz and lowest, %s, at %s.",
		Interval(z.At(1000)), Interval(lowest), response.FormatFrequency(at))
	return p
}

func outputLossPlot(r *review.Results) plot.Plot {
	c := *r.OutputLoss
	p := plot.Plot{
		ID: "output", Title: fmt.Sprintf("Change in response by an output impedance of %g Ω",
			r.Drive.Amplifier.OutputImpedance.Value),
		X: plot.Frequency(20, 20000), Series: []plot.Series{curve("change", c, halfWidths(c.Uncertainty), plot.Violet)},
		DecibelsPerDecade: 10, Notes: shading(c.Uncertainty),
		Summary: fmt.Sprintf("On %s the level changes by %.2f dB at 1 kHz.", r.Drive.AmplifierName, c.At(1000)),
	}
	p.Y = levelAxis("Change", p.X, 1, 3, p.Series)
	return p
}
