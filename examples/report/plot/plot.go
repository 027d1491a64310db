// Package plot draws the plots of a measurement report as SVG inside one HTML page. They load
// nothing from elsewhere.
//
// The package draws with html/template, because plotting libraries lack what a report needs:
// colours for dark mode and paper, curves that can be shown and hidden, values at a cursor by
// keyboard and pointer, and a summary and table for readers who do not see the picture. The script
// is optional: without it every curve is visible and there are no controls.
//
//	fig, err := plot.Figure(plot.Plot{
//		ID: "response", Title: "Response", Summary: "Level within 3 dB from 40 Hz to 8 kHz.",
//		X: plot.Frequency(20, 20000), Y: plot.Axis{Label: "Level", Unit: "dB", Min: -20, Max: 20},
//		Series: []plot.Series{{Name: "Left", X: f, Y: level, Style: plot.Blue}},
//	})
//
// A page holds CSS once, Script at most once, and one Figure for each plot. For another order, put
// SVG, Legend, Notes and Table into an element of class "plot", whose width sets the size of the
// text.
//
// A value that is not known is NaN. It is drawn as a gap in the line, and the table says "not
// known".
package plot

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"unicode"

	"example.com/earnest/response"
)

// ErrAxis is the error of an axis that cannot be drawn.
var ErrAxis = errors.New("axis cannot be drawn")

// Plot is one picture with its texts.
type Plot struct {
	// ID names the plot in its page: a letter, then letters, digits and
	// hyphens. All ids in the output begin with it.
	ID string
	// Title is the heading. Summary describes the picture in plain words, for readers who hear the
	// page. Both are required.
	Title, Summary string

	X, Y   Axis
	Series []Series
	// Raster is drawn below the series; nil for none.
	Raster *Raster
	// Unknown are the stretches of the X axis where the values are not known.
	Unknown []Stretch
	// Notes are printed below the plot, a paragraph each.
	Notes []string
	// Explained are links to explanations of the plot elsewhere in the page. They follow the notes.
	Explained []Link

	// DecibelsPerDecade is the proportion of a level over logarithmic
	// frequency: one decade is drawn as long as 50, 25 or 10 dB, so that slopes
	// look alike from plot to plot (IEC 60263, from memory). Zero means 25.
	// The height of such a plot follows from the range of its Y axis; other
	// plots have a fixed height and do not use this.
	DecibelsPerDecade float64
	// Words are the plot's words in the page's language; English if empty.
	Words Words
	// Height of the frame in units of a width of 720; zero means what IEC 60263 prescribes for a
	// level over frequency, and else 300.
	Height float64
}

// Empty reports whether no series and no raster has a known value on the axes. Such a plot is
// better left out.
func (p Plot) Empty() bool {
	if p.Raster != nil && !p.Raster.empty() {
		return false
	}
	for _, s := range p.Series {
		for i, x := range s.X {
			if p.X.holds(x) && p.Y.holds(s.Y[i]) {
				return false
			}
		}
	}
	return true
}

// check panics if slice lengths differ and returns an error for anything else that cannot be drawn.
func (p Plot) check() error {
	if !validID(p.ID) {
		return fmt.Errorf("plot: id %q: begin with a letter and use letters, digits and hyphens", p.ID)
	}
	if strings.TrimSpace(p.Title) == "" || strings.TrimSpace(p.Summary) == "" {
		return fmt.Errorf("plot: %s: title and summary are for those who cannot see the plot; give both", p.ID)
	}
	for _, a := range []struct {
		name string
		axis Axis
	}{{"X", p.X}, {"Y", p.Y}} {
		if err := a.axis.check(); err != nil {
			return fmt.Errorf("plot: %s: %s %w", p.ID, a.name, err)
		}
	}
	switch p.DecibelsPerDecade {
	case 0, 10, 25, 50:
	default:
		return fmt.Errorf("plot: %s: %g dB a decade: choose 50, 25 or 10", p.ID, p.DecibelsPerDecade)
	}
	if h := newFrame(p).height; h < minHeight || h > maxHeight {
		return fmt.Errorf("plot: %s: Y %w: %g to %g %s at %g dB a decade is %.0f units tall (%d to %d can be read); "+
			"change the range or DecibelsPerDecade",
			p.ID, ErrAxis, p.Y.Min, p.Y.Max, p.Y.Unit, p.proportion(), h, minHeight, maxHeight)
	}
	if p.Raster != nil {
		if err := p.Raster.check(); err != nil {
			return fmt.Errorf("plot: %s: %w", p.ID, err)
		}
	}
	for _, s := range p.Series {
		if err := s.check(); err != nil {
			return fmt.Errorf("plot: %s: series %q: %w", p.ID, s.Name, err)
		}
	}
	return nil
}

// Kind is the kind of a series. It decides how the series is drawn.
type Kind int

const (
	Line    Kind = iota // a curve
	Floor               // a limit of the measurement, filled below
	Bound               // an upper bound: a thin line with ticks below it
	Impulse             // a pressure or voltage over time: thin, with a line at zero
	Points              // separate values, not joined; Low and High are drawn as bars
)

// Series is one curve. A series without a name is drawn thin behind the others, and is neither in
// the legend nor at the cursor. X rises, in the unit of the X axis; Y has as many values, in the
// unit of the Y axis. NaN in Y breaks the line, and so do values of zero or below on a logarithmic
// axis.
//
// Low and High are the ends of the interval; both nil if there is none. Slices of other lengths
// than X make every function of this package panic.
type Series struct {
	Name      string
	X, Y      []float64
	Low, High []float64
	Style     Style
	Kind      Kind
}

func (s Series) check() error {
	s.mustMatch()
	if !s.Style.known() {
		return fmt.Errorf("no style %d; there are %d", s.Style, len(styles))
	}
	if s.Kind < Line || s.Kind > Points {
		return fmt.Errorf("no kind %d", s.Kind)
	}
	for i, x := range s.X {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return fmt.Errorf("value %d: X is %g; every value needs a finite place", i, x)
		}
		if i > 0 && x < s.X[i-1] {
			return fmt.Errorf("value %d: X falls from %g to %g; sort the series", i, s.X[i-1], x)
		}
	}
	return nil
}

func (s Series) mustMatch() {
	n := len(s.X)
	if len(s.Y) != n || (s.Low == nil) != (s.High == nil) || s.Low != nil && (len(s.Low) != n || len(s.High) != n) {
		panic(fmt.Sprintf("plot: series %q: slice length mismatch: X %d, Y %d, Low %d, High %d",
			s.Name, n, len(s.Y), len(s.Low), len(s.High)))
	}
}

// Link leads to a place in the same page.
type Link struct {
	Text string
	To   string // the id it leads to
	ID   string // of the link itself, as the target of a link back
}

// Stretch is a part of the X axis, hatched and labelled: "not known: below the
// noise".
type Stretch struct {
	From, To float64
	Label    string
}

// Outside returns the stretches of x outside valid, with one label. It leaves out stretches
// narrower than a two-hundredth of the axis.
func Outside(x Axis, valid response.Band, label string) []Stretch {
	valid = valid.Intersect(response.Band{Low: x.Min, High: x.Max})
	if valid.Empty() {
		return []Stretch{{x.Min, x.Max, label}}
	}
	var out []Stretch
	for _, s := range []Stretch{{x.Min, valid.Low, label}, {valid.High, x.Max, label}} {
		if x.place(s.To)-x.place(s.From) > 0.005 {
			out = append(out, s)
		}
	}
	return out
}

func validID(id string) bool {
	for i, r := range id {
		letter := r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z'
		if !letter && (i == 0 || !(r >= '0' && r <= '9' || r == '-')) {
			return false
		}
	}
	return id != ""
}

// plain removes characters that XML does not allow.
func plain(s string) string {
	return strings.Map(func(r rune) rune {
		if r == '\n' || r == '\t' {
			return ' '
		}
		if unicode.IsControl(r) || r == '\uFFFE' || r == '\uFFFF' {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD"))
}
