package report

import (
	"fmt"
	"math"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/examples/session"
	"example.com/earnest/response"
)

// electricalPlots draws impedance, what an amplifier's output impedance makes of
// the response, and isolation, as far as they were measured.
func electricalPlots(m *session.Measurement) []plot.Plot {
	var plots []plot.Plot
	if m.Impedance != nil {
		plots = append(plots, impedancePlot(m))
	}
	if m.OutputLoss != nil {
		plots = append(plots, outputLossPlot(m))
	}
	if m.Isolation != nil {
		plots = append(plots, isolationPlot(m))
	}
	if m.Spill != nil {
		plots = append(plots, spillPlot(m))
	}
	return plots
}

func impedancePlot(m *session.Measurement) plot.Plot {
	z := m.Impedance
	s := plot.Series{Name: "magnitude", X: z.Frequency, Y: z.Magnitude(), Style: plot.Blue}
	if z.Uncertainty != nil {
		for i, v := range s.Y {
			s.Low, s.High = append(s.Low, v-2*z.Uncertainty[i]), append(s.High, v+2*z.Uncertainty[i])
		}
	}
	p := plot.Plot{
		ID: "impedance", Title: "Magnitude of the impedance", X: plot.Frequency(20, 20000), Series: []plot.Series{s},
		Notes: []string{"From noise across a known resistor and the headphones in series. Shaded: expanded uncertainty (k = 2)."},
	}
	_, high := plot.Span(p.X, 10, s)
	p.Y = plot.Axis{Label: "Impedance", Unit: "Ω", Min: 0, Max: high}
	lowest, at := z.Lowest(response.Band{Low: 20, High: 20000})
	p.Summary = fmt.Sprintf("The impedance is %s at 1 kHz and lowest, %s, at %s.", ohms(z.Curve().At(1000)), fmt.Sprintf("%.1f Ω", lowest.Value), response.FormatFrequency(at))
	return p
}

// ohms is a level re 1 Ω in ohm.
func ohms(level float64) string {
	if math.IsNaN(level) {
		return "not known"
	}
	return fmt.Sprintf("%.1f Ω", math.Pow(10, level/20))
}

func outputLossPlot(m *session.Measurement) plot.Plot {
	c := *m.OutputLoss
	p := plot.Plot{
		ID: "output", Title: fmt.Sprintf("Change in response by an output impedance of %g Ω", m.Session.Amplifier.OutputOhms),
		X: plot.Frequency(20, 20000), Series: []plot.Series{curve("change", c, twice(c.Uncertainty), plot.Violet)},
		DecibelsPerDecade: 10,
		Summary:           fmt.Sprintf("On %s the level changes by %.2f dB at 1 kHz.", m.Session.Amplifier.Name, c.At(1000)),
	}
	p.Y = levelAxis("Change", p.X, 1, 3, p.Series)
	return p
}

func isolationPlot(m *session.Measurement) plot.Plot {
	c := m.Isolation.Curve
	p := plot.Plot{
		ID: "isolation", Title: "Isolation from outside noise",
		X: plot.Frequency(20, 20000), Series: []plot.Series{curve("insertion loss, third octaves", c, twice(c.Uncertainty), plot.Green)},
		Summary: fmt.Sprintf("The cup takes %s off noise from outside at 125 Hz, %s at 1 kHz and %s at 4 kHz.", decibels(c.At(125.9)), decibels(c.At(1000)), decibels(c.At(3981))),
		Notes:   m.Isolation.Findings,
	}
	low, high := plot.Span(p.X, 10, p.Series...)
	p.Y = plot.Axis{Label: "Insertion loss", Unit: "dB", Min: max(low, -20), Max: min(max(high, 30), 80)}
	return p
}

// spillPlot draws what others hear of the pair.
func spillPlot(m *session.Measurement) plot.Plot {
	s := m.Spill
	p := plot.Plot{
		ID: "spill", Title: "What others hear",
		X: plot.Frequency(20, 20000), Series: []plot.Series{curve("beside the pair, third octaves", s.Curve, twice(s.Curve.Uncertainty), plot.Vermilion)},
		Summary: fmt.Sprintf("At a distance of %g m the pair is heard at %s.", s.Distance.Value, interval(figure(s.A))),
		Notes:   s.Findings,
	}
	low, high := plot.Span(p.X, 10, p.Series...)
	p.Y = plot.Axis{Label: "Sound pressure level", Unit: "dB SPL", Min: max(low, -20), Max: max(min(high, 120), max(low, -20)+30)}
	return p
}

func decibels(v float64) string {
	if math.IsNaN(v) {
		return "an amount that is not known"
	}
	return fmt.Sprintf("%.0f dB", v)
}

// twice is the expanded uncertainty (k = 2) of a standard one; nil when that is
// not known.
func twice(u []float64) []float64 {
	if u == nil {
		return nil
	}
	return scaled(u, 2)
}
