package report

import (
	"fmt"
	"math"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/examples/session"
	"example.com/earnest/response"
)

// programmePlot draws what a piece of material says of the response, beside
// what the sweep says, on one of the two axes.
func programmePlot(i int, m *session.Measurement, material *session.Material, j *session.Judgement, log bool) plot.Plot {
	c := material.Comparison
	p := plot.Plot{
		ID: fmt.Sprintf("programme-%d", i+1), Title: fmt.Sprintf("Response from %s", material.Name),
		X:       plot.Frequency(20, 20000),
		Summary: programmeSentence(material),
		Notes:   []string{"Shaded: the interval that holds the truth with 95 % confidence. Where the material has no energy, or the two recordings do not agree, nothing is drawn."},
	}
	measured := c.Response()
	s := plot.Series{Name: "from " + material.Name, X: measured.Frequency, Style: plot.Green}
	offset := programmeOffset(measured, m.Mean)
	for _, point := range c.Points() {
		v := measured.At(point.Frequency) + offset + j.Mean.Offset.Value
		s.Y = append(s.Y, v)
		s.Low, s.High = append(s.Low, v-point.Half), append(s.High, v+point.Half)
	}
	sweepCurve := m.Mean.Offset(j.Mean.Offset.Value)
	p.Series = []plot.Series{s, {Name: "from the sweep", X: sweepCurve.Frequency, Y: sweepCurve.Level, Style: plot.Ink}}
	if !log {
		p.ID, p.Title, p.Notes = p.ID+"-linear", p.Title+", linear axis", nil
		p.X = plot.Axis{Label: "Frequency", Unit: "kHz", Min: 0, Max: 20}
		for k := range p.Series {
			p.Series[k].X = scaled(p.Series[k].X, 1e-3)
		}
	}
	p.Y = levelAxis("Level", "dB", p.X, 10, 20, p.Series)
	return p
}

// programmeOffset brings the material's curve to the level of the sweep's: the
// two recordings' gains say nothing about the pair.
func programmeOffset(a, b response.Curve) float64 {
	d, err := b.Sub(a)
	if err != nil {
		return math.NaN()
	}
	return d.MeanOver(response.Band{Low: 200, High: 5000})
}

func programmeSentence(material *session.Material) string {
	c := material.Comparison
	return fmt.Sprintf("The comparison covers %.0f %% of the energy of %s; what no steady, linear filter explains lies at %.0f dB.",
		100*c.Covered, material.Name, c.ResidualLevel())
}
