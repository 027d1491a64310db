package report

import (
	"fmt"
	"math"
	"slices"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/review"
)

// Impedance is the magnitude of the impedance, at the frequencies of the
// response.
type Impedance struct {
	At1kHz      Figure    `json:"at_1_khz"`
	Lowest      Figure    `json:"lowest"` // of what is audible
	LowestHz    Number    `json:"lowest_hz"`
	ValidHz     [2]Number `json:"valid_hz"`
	FrequencyHz []Number  `json:"frequency_hz"`
	Magnitude   []Number  `json:"magnitude_ohm"`
	Uncertainty []Number  `json:"uncertainty_ohm"` // standard
	HalfWidth95 []Number  `json:"half_width_95_ohm"`
	// Output is null where no amplifier with an output impedance is named.
	Output  *Output  `json:"output"`
	Remarks []string `json:"remarks"`
}

// Output is what an amplifier's output impedance makes of the response, at the
// same frequencies.
type Output struct {
	Amplifier   string   `json:"amplifier"`
	Ohms        float64  `json:"output_ohm"`
	Change      []Number `json:"change_db"`
	Uncertainty []Number `json:"uncertainty_db"` // standard
	HalfWidth95 []Number `json:"half_width_95_db"`
}

// compileImpedance is nil where it was not measured.
func compileImpedance(m *review.Results) *Impedance {
	if m.Impedance == nil {
		return nil
	}
	z, grid := m.Impedance.Curve(), m.Mean.Frequency
	magnitude, uncertainty := make([]float64, len(grid)), make([]float64, len(grid))
	for i, f := range grid {
		at := ohmsAt(z, f)
		magnitude[i], uncertainty[i] = at.Value, at.Uncertainty
	}
	lowest, hz := m.Impedance.Lowest(target.Audible)
	out := &Impedance{
		At1kHz: figure(ohmsAt(z, 1000)), Lowest: figure(lowest), LowestHz: Number(hz), ValidHz: band(m.Impedance.Valid),
		FrequencyHz: numbers(grid), Magnitude: numbers(magnitude), Uncertainty: numbers(uncertainty), HalfWidth95: numbers(halfWidths(uncertainty)),
		Remarks: list(m.Impedance.Findings),
	}
	if m.OutputLoss != nil {
		c := m.OutputLoss.Resample(grid)
		out.Output = &Output{m.Drive.AmplifierName, m.Drive.Amplifier.OutputImpedance.Value, numbers(c.Level), numbers(c.Uncertainty), numbers(halfWidths(c.Uncertainty))}
	}
	return out
}

// ohmsAt is what a curve in dB re 1 Ω says in ohm: u(Z) = Z ln(10)/20 u(dB).
func ohmsAt(z response.Curve, f float64) response.Figure {
	ohms := math.Pow(10, z.At(f)/20)
	return response.Figure{Value: ohms, Uncertainty: ohms * math.Ln10 / 20 * z.UncertaintyAt(f), Unit: "Ω"}
}

func impedancePlot(m *review.Results) plot.Plot {
	z := m.Impedance
	s := plot.Series{Name: "magnitude", X: z.Frequency, Y: z.Magnitude(), Style: plot.Blue}
	if z.Uncertainty != nil {
		for i, half := range halfWidths(z.Uncertainty) {
			s.Low, s.High = append(s.Low, s.Y[i]-half), append(s.High, s.Y[i]+half)
		}
	}
	p := plot.Plot{
		ID: "impedance", Title: "Magnitude of the impedance", X: plot.Frequency(20, 20000), Series: []plot.Series{s},
		Notes: slices.Concat([]string{"From noise across a known resistor and the headphones in series."}, shading(z.Uncertainty), z.Findings),
	}
	_, high := plot.Span(p.X, 10, s)
	p.Y = plot.Axis{Label: "Impedance", Unit: "Ω", Min: 0, Max: high}
	lowest, at := z.Lowest(target.Audible)
	p.Summary = fmt.Sprintf("The impedance is %s at 1 kHz and lowest, %s, at %s.", interval(figure(ohmsAt(z.Curve(), 1000))), interval(figure(lowest)), response.FormatFrequency(at))
	return p
}

func outputLossPlot(m *review.Results) plot.Plot {
	c := *m.OutputLoss
	p := plot.Plot{
		ID: "output", Title: fmt.Sprintf("Change in response by an output impedance of %g Ω", m.Drive.Amplifier.OutputImpedance.Value),
		X: plot.Frequency(20, 20000), Series: []plot.Series{curve("change", c, halfWidths(c.Uncertainty), plot.Violet)},
		DecibelsPerDecade: 10, Notes: shading(c.Uncertainty),
		Summary: fmt.Sprintf("On %s the level changes by %.2f dB at 1 kHz.", m.Drive.AmplifierName, c.At(1000)),
	}
	p.Y = levelAxis("Change", p.X, 1, 3, p.Series)
	return p
}
