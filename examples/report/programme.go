package report

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response"
	"example.com/earnest/response/programme"
	"example.com/earnest/target/review"
)

// programmeJSON is music or speech, direct against through.
type programmeJSON struct {
	Name string `json:"name"`
	Kind string `json:"kind"`
	// Side and, if the response comes from music and speech alone, Seating.
	Side    string `json:"side,omitempty"`
	Seating string `json:"seating,omitempty"`
	// Refused says why the recordings could not be compared.
	Refused string `json:"refused,omitempty"`
	Covered number `json:"covered_share"`
	// Sentence is the result of the comparison in words.
	Sentence string `json:"sentence"`
	// Exposure is null without a calibrator.
	Exposure *exposureJSON `json:"exposure"`
	// Excerpts can be compared by ear; null if there are none.
	Excerpts *excerptsJSON `json:"excerpts"`
	// DirectLUFS and ThroughLUFS are the loudness of the part that both recordings share.
	DirectLUFS  number `json:"direct_lufs"`
	ThroughLUFS number `json:"through_lufs"`
	// Changes of the level over time, re the median interval.
	Changes []changeJSON `json:"changes"`
	// FilterBefore is by how much in dB harmonics vary with frequency beyond the response: the
	// predicted residual is then too low.
	FilterBefore number     `json:"filter_before_db"`
	Bands        []bandJSON `json:"bands"`
	Remarks      []string   `json:"remarks"`
}

func newProgramme(i int, r *review.Results, p *review.Programme) programmeJSON {
	out := programmeJSON{Name: p.Name, Kind: p.Kind, Side: p.Side, Seating: p.Seating, Covered: number(math.NaN()),
		Exposure: newExposure(r, p), Excerpts: newExcerpts(i, p), Bands: []bandJSON{}, Remarks: remarks(remarkable(p)),
		DirectLUFS: number(p.DirectLoudness), ThroughLUFS: number(p.ThroughLoudness), Changes: newChanges(p.Spectrogram),
		FilterBefore: number(p.FilterBefore)}
	if p.Refused != nil {
		out.Refused = p.Refused.Error()
		return out
	}
	out.Covered, out.Sentence = number(p.Comparison.Covered), english.Programme(p)
	for k, b := range p.Comparison.Bands(3) {
		noise, predicted := math.NaN(), math.NaN()
		if k < len(p.Residuals) {
			noise, predicted = p.Residuals[k].Noise, p.Residuals[k].Predicted
		}
		out.Bands = append(out.Bands, bandJSON{number(b.Nominal), number(b.Direct), number(b.Through),
			number(b.Difference),
			number(b.HalfWidth95), number(b.Coherence), number(b.Residual), number(noise), number(predicted)})
	}
	return out
}

// bandJSON is one third-octave band of programme material.
type bandJSON struct {
	NominalHz    number `json:"nominal_hz"`
	DirectDBFS   number `json:"direct_dbfs"`
	ThroughDBFS  number `json:"through_dbfs"`
	DifferenceDB number `json:"difference_db"`
	Half95DB     number `json:"half_width_95_db"`
	Coherence    number `json:"coherence"`
	ResidualDB   number `json:"residual_db"`
	// The levels expected from noise alone, and from the distortion measured with the sweep.
	NoiseDB     number `json:"residual_noise_db"`
	PredictedDB number `json:"residual_predicted_db"`
}

// Title returns the heading of a piece of material.
func (l language) Title(p *review.Programme) string {
	title := p.Name
	if p.Kind != "" {
		title += " (" + l.Kind(p.Kind) + ")"
	}
	if p.Seating != "" {
		title += ", " + l.Side(p.Side) + ", " + l.Name(p.Seating)
	}
	return title
}

// Remarks returns them as sentences of the page.
func (v *view) Remarks(p *review.Programme) (out []template.HTML) {
	for _, f := range remarkable(p) {
		out = append(out, v.remark(f))
	}
	return out
}

// programmePlot draws the response from a piece of material beside that from the sweep, on a
// logarithmic or linear axis. Both are shifted so that the recordings of the material are equally
// loud.
func (l language) programmePlot(i int, material *review.Programme, log bool) plot.Plot {
	c := material.Comparison
	p := plot.Plot{
		ID: programmeID(i), Title: l.Text("plot.programme", material.Name),
		X:       l.Frequency(20, 20000),
		Summary: l.Programme(material),
		Notes:   []string{l.Text("programme.note")},
	}
	measured := c.Response()
	s := plot.Series{Name: l.Text("programme.curve", material.Name, programme.PerOctave), X: measured.Frequency,
		Style: plot.Green}
	by := equally(material)
	for _, f := range measured.Frequency {
		v, half := measured.At(f)+by, c.At(f).HalfWidth95
		s.Y = append(s.Y, v)
		s.Low, s.High = append(s.Low, v-half), append(s.High, v+half)
	}
	// The heavy line of the sweep lies under the other, which often coincides with it. The gain may
	// have been changed between the two.
	if len(material.Sweep.Frequency) > 0 && material.Agreement != nil {
		sweep := material.Sweep.Offset(by + material.Agreement.Level.Value)
		p.Series = append(p.Series, plot.Series{Name: l.Text("programme.sweep", review.Smoothing),
			X: sweep.Frequency, Y: sweep.Level, Style: plot.Ink})
	}
	p.Series = append(p.Series, s)
	if !log {
		p.ID, p.Title, p.Notes = p.ID+"-linear", l.Text("plot.same-linear"), nil
		p.X = plot.Axis{Label: l.Text("axis.frequency"), Unit: "kHz", Min: 0, Max: 20}
		for k := range p.Series {
			p.Series[k].X = scaled(p.Series[k].X, 1e-3)
		}
	}
	p.Y = levelAxis(l.Text("axis.difference"), p.X, 5, 10, p.Series)
	return p
}

// Programme states the result of a piece of material in words.
func (l language) Programme(material *review.Programme) string {
	c := material.Comparison
	words := []string{l.Text("programme.covers", 100*c.Covered, material.Name, c.ResidualLevel)}
	if material.Agreement != nil {
		words = append(words, plainly(l.translated(material.Agreement.Sentence)))
	}
	switch material.Kind {
	case "speech":
		v := c.Voice
		words = append(words, l.Text("programme.voice", v.Deviation.Value))
		var parts []string
		for _, part := range v.Parts {
			parts = append(parts, fmt.Sprintf("%s (%s) %s", l.Name(part.Name), l.Band(part.Band),
				l.signedWords(part.Level.Value)))
		}
		words = append(words, l.Text("programme.parts", strings.Join(parts, ", ")))
	case "effects":
		bass, attacks := c.Bass, c.Attacks
		words = append(words, l.Text("programme.effects", l.plainHz(bass.Extension.Value), attacks.Count,
			100*attacks.Kept))
	}
	return strings.Join(words, " ")
}

// signedWords formats a level relative to another.
func (l language) signedWords(v float64) string {
	if math.IsNaN(v) {
		return l.Text("page.not-known")
	}
	return l.Number("%+.1f dB", v)
}

// remarkable returns the findings about the recordings and the notes of the comparison, each with
// what is said of it.
func remarkable(p *review.Programme) (out []response.Finding) {
	for _, f := range p.Findings {
		if f.Severity > response.Note {
			out = append(out, response.Finding{Recording: f.Recording, What: f.What + "."})
		}
	}
	if p.Level != nil {
		out = append(out, p.Level.Findings...)
	}
	if p.Comparison != nil {
		for _, f := range slices.Concat(p.Comparison.Findings, p.Spectrogram.Findings) {
			out = append(out, response.Finding{What: f.What})
		}
	}
	return out
}
