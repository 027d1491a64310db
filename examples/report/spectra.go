package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response/programme"
	"example.com/earnest/target/review"
)

// changeJSON holds the level of a part of the band over time.
type changeJSON struct {
	Band     string    `json:"band"`
	RangeHz  [2]number `json:"range_hz"`
	ChangeDB []number  `json:"change_db"`
	Half95DB []number  `json:"half_width_95_db"`
	FromS    number    `json:"from_s"`
	PieceS   number    `json:"piece_s"`
}

// equallyWords describes the shift that makes both equally loud.
func (l language) equallyWords(p *review.Programme) string {
	by := l.Text("spectra.loudness")
	if math.IsNaN(p.DirectLoudness - p.ThroughLoudness) {
		by = l.Text("spectra.rms")
	}
	return l.Text("spectra.moved", equally(p), by)
}

// spectraPlot draws the spectra of both recordings, equally loud: the levels of twelfths of an
// octave on a logarithmic axis, the power density on a linear one.
func (l language) spectraPlot(i int, m *review.Programme, log bool) plot.Plot {
	p := plot.Plot{
		ID: fmt.Sprintf("spectra-%d", i+1), Title: l.Text("plot.spectra", m.Name),
		X:                 l.Frequency(20, 20000),
		DecibelsPerDecade: 50,
		Summary:           l.Text("spectra.summary", m.Name),
		Notes:             []string{l.equallyWords(m) + " " + l.Text("spectra.note")},
	}
	fraction, label, scale := 12, l.Text("axis.band-level"), 1.0
	if !log {
		p.ID, p.Title = p.ID+"-linear", l.Text("plot.spectra-linear")
		p.X = plot.Axis{Label: l.Text("axis.frequency"), Unit: "kHz", Min: 0, Max: 20}
		p.Summary, p.Notes = l.Text("spectra.density", m.Name), nil
		fraction, label, scale = 48, l.Text("axis.density"), 1e-3
	}
	direct := plot.Series{Name: l.Text("spectra.direct"), Style: plot.Ink}
	through := plot.Series{Name: l.Text("spectra.through"), Style: plot.Vermilion}
	top := math.Inf(-1)
	for _, b := range m.Comparison.Bands(fraction) {
		x, y := b.Direct, b.Through+equally(m)
		if !log {
			x, y = x-10*math.Log10(b.High-b.Low), y-10*math.Log10(b.High-b.Low)
		}
		if !b.Known {
			x, y = math.NaN(), math.NaN()
		}
		direct.X, direct.Y = append(direct.X, scale*b.Centre), append(direct.Y, x)
		through.X, through.Y = append(through.X, scale*b.Centre), append(through.Y, y)
		if m := math.Max(x, y); m > top {
			top = m
		}
	}
	p.Series = []plot.Series{direct, through}
	const span = 80 // largest range shown, dB
	low, high := plot.Span(p.X, 10, p.Series...)
	p.Y = plot.Axis{Label: label, Unit: "dBFS", Min: max(low, high-span), Max: high}
	return p
}

// spectrogramPlots draw both recordings over time and frequency, equally loud, in one scale.
func (l language) spectrogramPlots(i int, m *review.Programme) []plot.Plot {
	s := m.Spectrogram
	if len(s.Time) == 0 || len(s.Bands) == 0 {
		return nil
	}
	top := math.Inf(-1)
	sides := [2][][]float64{s.Direct, moved(s.Through, equally(m))}
	for _, side := range sides {
		for _, row := range side {
			for _, v := range row {
				if v > top {
					top = v
				}
			}
		}
	}
	if math.IsInf(top, 0) {
		return nil
	}
	top = 10 * math.Ceil(top/10)
	end := s.From + s.Step*float64(len(s.Changes[0].Level))
	var out []plot.Plot
	for k, name := range []string{"direct", "through"} {
		p := plot.Plot{
			ID: fmt.Sprintf("spectrogram-%d-%s", i+1, name), Title: capital(m.Name) + ", " + l.Text("spectra."+name),
			Summary: l.Text("spectrogram."+name, m.Name),
			X:       plot.Axis{Label: l.Text("axis.time"), Unit: "s", Min: s.From, Max: end},
			Y: plot.Axis{Label: l.Text("axis.frequency"), Unit: "Hz",
				Min: s.Bands[0].Low, Max: s.Bands[len(s.Bands)-1].High, Log: true},
			Raster: &plot.Raster{
				Values: sides[k], Left: s.From, Right: end, Bottom: s.Bands[0].Low, Top: s.Bands[len(s.Bands)-1].High,
				Min: top - 70, Max: top, Label: l.Text("spectrogram.scale"), Unit: "dBFS",
			},
		}
		if k == 1 {
			p.Notes = []string{l.Text("spectrogram.note")}
		}
		out = append(out, p)
	}
	return out
}

// changesPlot draws the level through the headphones in each second re the median second.
func (l language) changesPlot(i int, m *review.Programme) plot.Plot {
	s := m.Spectrogram
	p := plot.Plot{
		ID: fmt.Sprintf("changes-%d", i+1), Title: l.Text("plot.changes", m.Name),
		Summary: l.changesWords(m),
		X: plot.Axis{Label: l.Text("axis.time"), Unit: "s", Min: s.From,
			Max: s.From + s.Step*float64(len(s.Changes[0].Level))},
		Notes: []string{l.Text("changes.note")},
	}
	kind := plot.Points
	if len(s.Changes[0].Level) > 60 {
		kind = plot.Line
	}
	for k, c := range s.Changes {
		series := plot.Series{Name: l.Name(c.Name) + ", " + l.Band(c.Band),
			Style: []plot.Style{plot.Blue, plot.Green, plot.Vermilion}[k], Kind: kind}
		for n, v := range c.Level {
			// Side by side, so that no bar hides another.
			series.X = append(series.X, s.From+s.Step*(float64(n)+0.5+0.2*float64(k-1)))
			series.Y, series.Low, series.High = append(series.Y, v), append(series.Low, v-c.HalfWidth95[n]),
				append(series.High, v+c.HalfWidth95[n])
		}
		p.Series = append(p.Series, series)
	}
	low, high := plot.Span(p.X, 1, p.Series...)
	most := min(max(-low, high, 2), 12)
	p.Height = 150
	p.Y = plot.Axis{Label: l.Text("axis.change"), Unit: "dB", Min: -most, Max: most}
	return p
}

// changesWords states whether the filter is steady.
func (l language) changesWords(m *review.Programme) string {
	if len(m.Spectrogram.Findings) > 0 {
		return l.Text("changes.some")
	}
	most := 0.0
	for _, c := range m.Spectrogram.Changes {
		for _, v := range c.HalfWidth95 {
			if v > most {
				most = v
			}
		}
	}
	if most == 0 {
		return l.Text("changes.not-known")
	}
	return l.Text("changes.none", max(most, 0.01))
}

// equally returns the shift in dB that makes the recording through the headphones as loud as the
// direct one.
func equally(p *review.Programme) float64 {
	if d := p.DirectLoudness - p.ThroughLoudness; !math.IsNaN(d) {
		return d
	}
	return p.Comparison.Direct.RMS - p.Comparison.Through.RMS
}

func moved(rows [][]float64, by float64) [][]float64 {
	out := make([][]float64, len(rows))
	for i, row := range rows {
		for _, v := range row {
			out[i] = append(out[i], v+by)
		}
	}
	return out
}

// writeSpectra writes piece, fraction, frequency_hz, low_hz, high_hz, direct_dbfs, through_dbfs,
// difference_db, half_width_95_db: thirds, twelfths and forty-eighths of an octave of each piece of
// material, as recorded, where they are known.
func writeSpectra(w io.Writer, r *review.Results) error {
	out := csv.NewWriter(w)
	out.Write([]string{"piece", "fraction", "frequency_hz", "low_hz", "high_hz", "direct_dbfs", "through_dbfs",
		"difference_db", "half_width_95_db"})
	for _, p := range r.Programmes {
		if p.Comparison == nil {
			continue
		}
		for _, fraction := range []int{3, 12, 4 * 12} {
			for _, b := range p.Comparison.Bands(fraction) {
				row := []string{cell(p.Name), fmt.Sprint(fraction)}
				for _, v := range []float64{b.Centre, b.Low, b.High, b.Direct, b.Through, b.Difference, b.HalfWidth95} {
					row = append(row, number(v).String())
				}
				out.Write(row)
			}
		}
	}
	out.Flush()
	return out.Error()
}

func newChanges(s *programme.Spectrogram) []changeJSON {
	out := []changeJSON{}
	if s == nil {
		return out
	}
	for _, c := range s.Changes {
		out = append(out, changeJSON{c.Name, newBand(c.Band), numbers(c.Level), numbers(c.HalfWidth95),
			number(s.From), number(s.Step)})
	}
	return out
}
