package main

import (
	"fmt"
	"html/template"
	"math"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/examples/workshop/bench"
	"example.com/earnest/response"
)

// figure is a picture of the page.
type figure struct {
	ID   string
	HTML template.HTML
}

// figures returns the pictures of a measurement in the order of the work. Without a response its
// pictures are left out.
func figures(r *bench.Result) (out []figure, err error) {
	add := func(p plot.Plot) error {
		f, err := plot.Figure(p)
		out = append(out, figure{p.ID, f})
		return err
	}
	if r.Problem == nil {
		for _, p := range []plot.Plot{responsePlot(r), errorPlot(r)} {
			if err := add(p); err != nil {
				return nil, err
			}
		}
	}
	if err := add(recordingPlot(r)); err != nil {
		return nil, err
	}
	picture, err := spectrogramFigure(r.Spectrogram(pictureColumns, pictureRows))
	if err != nil {
		return nil, err
	}
	out = append(out, figure{"spectrogram", picture})
	if r.Problem == nil {
		delay, err := groupDelayPlot(r)
		if err != nil {
			return nil, err
		}
		for _, p := range []plot.Plot{impulsePlot(r), delay} {
			if err := add(p); err != nil {
				return nil, err
			}
		}
		if r.Harmonics != nil {
			return out, add(harmonicsPlot(r))
		}
	}
	return out, nil
}

// frequencyAxis returns the chosen axis, and the factor from Hz to its unit.
func frequencyAxis(r *bench.Result) (plot.Axis, float64) {
	if r.Settings.Linear == 1 {
		return plot.Axis{Label: "Frequency", Unit: "kHz", Min: 0, Max: 20}, 1e-3
	}
	return plot.Frequency(20, 20000), 1
}

// curve returns a curve as a series on the axis with that factor.
func curve(name string, c response.Curve, factor float64, style plot.Style) plot.Series {
	x := make([]float64, len(c.Frequency))
	for i, f := range c.Frequency {
		x[i] = f * factor
	}
	return plot.Series{Name: name, X: x, Y: c.Level, Style: style}
}

// withBand adds an interval to a series.
func withBand(s plot.Series, half []float64) plot.Series {
	if half == nil {
		return s
	}
	s.Low, s.High = make([]float64, len(half)), make([]float64, len(half))
	for i, h := range half {
		s.Low[i], s.High[i] = s.Y[i]-h, s.Y[i]+h
	}
	return s
}

// notKnown returns the parts of the axis where the response is not known.
func notKnown(x plot.Axis, factor float64, valid response.Band) []plot.Stretch {
	const grid = 1.01 // from the ends of the grid to those of the axis
	if valid.Low <= 20*grid {
		valid.Low = 0
	}
	if valid.High >= 20000/grid {
		valid.High = math.Inf(1)
	}
	return plot.Outside(x, response.Band{Low: valid.Low * factor, High: valid.High * factor}, "not known")
}

// smoothingWords states how the response is smoothed.
func smoothingWords(s bench.Settings) string {
	switch s.Smoothing {
	case 0:
		return "Not smoothed."
	case bench.Hearing:
		return "Smoothed over the bands of hearing (one equivalent rectangular bandwidth)."
	case 1:
		return "Smoothed over one octave."
	}
	return fmt.Sprintf("Smoothed over 1/%.0f octave.", s.Smoothing)
}

func responsePlot(r *bench.Result) plot.Plot {
	x, factor := frequencyAxis(r)
	p := plot.Plot{
		ID: "response", Title: "The response and the truth", Summary: r.Headline(), X: x,
		Y:       plot.Axis{Label: "Level", Unit: "dB", Min: -20, Max: 15},
		Unknown: notKnown(x, factor, r.Response.Valid),
		Notes: []string{smoothingWords(r.Settings) +
			" The truth is the response of the simulated pair at this level, not smoothed."},
	}
	name, half := "measured", r.Average.Level.HalfWidth(0.95)
	if half != nil {
		name = fmt.Sprintf("mean of %d seatings, with its 95 %% interval", r.Average.Count)
		seatingStyles := []plot.Style{plot.Vermilion, plot.Green, plot.Violet, plot.Ochre}
		for i, c := range r.Seatings {
			p.Series = append(p.Series, curve(fmt.Sprintf("seating %d", i+1), c, factor, seatingStyles[i]))
		}
	}
	p.Series = append(p.Series, curve("truth", r.Truth, factor, plot.Ink),
		withBand(curve(name, r.Response, factor, plot.Blue), half))
	floor := curve("noise alone, 1/3 octave", r.Floor, factor, plot.Ochre)
	floor.Kind = plot.Floor
	if r.Floor.MeanOver(response.Band{Low: 100, High: 10000}) > -45 {
		p.Y.Min = -45
		p.Series = append(p.Series, floor)
	} else {
		p.Notes = append(p.Notes, "The noise lies below the picture.")
	}
	return p
}

func errorPlot(r *bench.Result) plot.Plot {
	x, factor := frequencyAxis(r)
	p := plot.Plot{
		ID: "error", Title: "The error: measured less truth", Summary: r.Headline(), X: x,
		Y:                 plot.Axis{Label: "Error", Unit: "dB", Min: -6, Max: 6},
		Unknown:           notKnown(x, factor, r.Response.Valid),
		DecibelsPerDecade: 10,
		Series:            []plot.Series{curve("error", r.Error.Curve, factor, plot.Blue)},
	}
	if r.Settings.Smoothing != 0 {
		p.Series = append(p.Series, curve("the error of smoothing alone",
			r.SmoothingError.Curve, factor, plot.Vermilion))
	}
	return p
}

func harmonicsPlot(r *bench.Result) plot.Plot {
	hs := r.Harmonics
	p := plot.Plot{
		ID: "harmonics", Title: "The harmonics and their floor",
		Summary: "The second and the third harmonic against the frequency of the fundamental, " +
			"each beside its true level, and the level that noise alone would give.",
		X:                 plot.Axis{Label: "Frequency of the fundamental", Unit: "Hz", Min: 20, Max: 20000, Log: true},
		Y:                 plot.Axis{Label: "Level re fundamental", Unit: "dB", Min: -120, Max: 0},
		DecibelsPerDecade: 50,
		Notes: []string{
			"Within 6 dB of its floor a harmonic is noise. Where twice or three times the frequency is " +
				"above the recorder's range, it is not known."},
	}
	for i, o := range hs.Orders[:min(2, len(hs.Orders))] {
		drawn := [][2]plot.Style{{plot.Ink, plot.Blue}, {plot.Violet, plot.Vermilion}}[i]
		p.Series = append(p.Series,
			plot.Series{Name: plot.Ordinal(o.N) + " harmonic in truth",
				X: hs.Fundamental, Y: r.TrueHarmonics[i], Style: drawn[0]},
			plot.Series{Name: plot.Ordinal(o.N) + " harmonic as measured", X: hs.Fundamental, Y: o.AsRead,
				Style: drawn[1]})
	}
	if floor := hs.Orders[0].Floor; floor != nil {
		p.Series = append(p.Series, plot.Series{Name: "noise alone, 2nd",
			X: hs.Fundamental, Y: floor, Style: plot.Ochre, Kind: plot.Floor})
	}
	return p
}
