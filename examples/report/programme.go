package report

import (
	"fmt"
	"math"
	"strings"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/target/review"
)

// Programme is music or speech, direct against through.
type Programme struct {
	Name string `json:"name"`
	Kind string `json:"kind"`
	// Refused says why the recordings could not be compared.
	Refused string `json:"refused,omitempty"`
	Covered Number `json:"covered_share"`
	// Sentence is what the comparison says, in words.
	Sentence string `json:"sentence"`
	// Exposure is null without a calibrator.
	Exposure *Exposure `json:"exposure"`
	Bands    []BandRow `json:"bands"`
	Remarks  []string  `json:"remarks"`
}

// BandRow is one third-octave band of programme material.
type BandRow struct {
	NominalHz    Number `json:"nominal_hz"`
	DirectDBFS   Number `json:"direct_dbfs"`
	ThroughDBFS  Number `json:"through_dbfs"`
	DifferenceDB Number `json:"difference_db"`
	Half95DB     Number `json:"half_width_95_db"`
	Coherence    Number `json:"coherence"`
	ResidualDB   Number `json:"residual_db"`
}

func compileProgramme(m *review.Programme) Programme {
	p := Programme{Name: m.Name, Kind: m.Kind, Covered: Number(math.NaN()), Bands: []BandRow{}, Remarks: []string{}}
	for _, f := range m.Findings {
		if f.Severity > capture.Note {
			p.Remarks = append(p.Remarks, f.Recording+": "+f.What+".")
		}
	}
	p.Exposure = compileExposure(m)
	if m.Refused != nil {
		p.Refused = m.Refused.Error()
		return p
	}
	p.Covered = Number(m.Comparison.Covered)
	p.Sentence = programmeSentence(m)
	for _, f := range m.Comparison.Findings {
		p.Remarks = append(p.Remarks, f.Text)
	}
	for _, b := range m.Comparison.Bands() {
		p.Bands = append(p.Bands, BandRow{Number(b.Nominal), Number(b.Direct), Number(b.Through), Number(b.Difference), Number(b.Half), Number(b.Coherence), Number(b.Residual)})
	}
	return p
}

// programmePlot draws what a piece of material says of the response, beside
// what the sweep says, on one of the two axes.
func programmePlot(i int, m *review.Results, material *review.Programme, j *review.Judgement, log bool) plot.Plot {
	c := material.Comparison
	p := plot.Plot{
		ID: programmeID(i), Title: fmt.Sprintf("Response from %s", material.Name),
		X:       plot.Frequency(20, 20000),
		Summary: programmeSentence(material),
		Notes:   []string{"Shaded: the interval that holds the truth with 95 % confidence. Where the material has no energy, or the two recordings do not agree, nothing is drawn."},
	}
	measured := c.Response()
	s := plot.Series{Name: "from " + material.Name, X: measured.Frequency, Style: plot.Green}
	offset := j.Mean.Offset.Value
	if material.Agreement != nil {
		// The gain may have been turned between sweep and material.
		offset -= material.Agreement.Level.Value
	}
	for _, point := range c.Points() {
		v := measured.At(point.Frequency) + offset
		s.Y = append(s.Y, v)
		s.Low, s.High = append(s.Low, v-point.Half), append(s.High, v+point.Half)
	}
	// The heavy line of the sweep lies under the other, which often runs along it.
	if len(material.Sweep.Frequency) > 0 {
		p.Series = append(p.Series, plot.Series{Name: "from the sweep", X: material.Sweep.Frequency, Y: material.Sweep.Offset(j.Mean.Offset.Value).Level, Style: plot.Ink})
	}
	p.Series = append(p.Series, s)
	if !log {
		p.ID, p.Title, p.Notes = p.ID+"-linear", p.Title+", linear axis", nil
		p.X = plot.Axis{Label: "Frequency", Unit: "kHz", Min: 0, Max: 20}
		for k := range p.Series {
			p.Series[k].X = scaled(p.Series[k].X, 1e-3)
		}
	}
	p.Y = levelAxis("Level", p.X, 5, 10, p.Series)
	return p
}

// programmeSentence is what a piece of material says, in words.
func programmeSentence(material *review.Programme) string {
	c := material.Comparison
	words := []string{fmt.Sprintf("The comparison covers %.0f %% of the energy of %s; what no steady, linear filter explains lies at %.0f dB relative to the whole.",
		100*c.Covered, material.Name, c.ResidualLevel())}
	if material.Agreement != nil {
		words = append(words, material.Agreement.Sentence())
	}
	switch material.Kind {
	case "speech":
		v := c.Voice()
		words = append(words, fmt.Sprintf("Over the bands that speech is understood by, weighted by importance, the voice is changed by %.1f dB rms.", v.Deviation.Value))
		var parts []string
		for _, part := range v.Parts {
			parts = append(parts, fmt.Sprintf("%s (%v) %s", part.Name, part.Band, signedWords(part.Level.Value)))
		}
		words = append(words, "Of its parts, relative to the whole: "+strings.Join(parts, ", ")+".")
	case "effects":
		bass, attacks := c.Bass(), c.Attacks()
		words = append(words, fmt.Sprintf("It reaches down to %s; of %d attacks %.0f %% come through at the same instant.", response.FormatFrequency(bass.Extension.Value), attacks.Count, 100*attacks.Kept))
	}
	return strings.Join(words, " ")
}

// signedWords is a level relative to another.
func signedWords(v float64) string {
	if math.IsNaN(v) {
		return "not known"
	}
	return fmt.Sprintf("%+.1f dB", v)
}
