package change

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/grid"
	"example.com/earnest/response"
	"example.com/earnest/target"
)

// Seating is one measurement of the pair, after one placement, in one condition.
type Seating struct {
	// Condition in words: "new", "with glasses".
	Condition string
	// Placement is the same for seatings of several conditions that were measured without lifting
	// the pair between them. If it is empty, the seating has a placement of its own.
	Placement string
	// Day is the day of the measurement. If it is empty in all seatings, all were measured on one
	// day.
	Day string
	// Response of the pair, or of one side.
	Response response.Curve
	// Figures of this seating by name, such as "channel balance (L−R)" or "loudness".
	Figures map[string]response.Figure
}

// Config states how conditions are compared. The zero Config is a good start.
type Config struct {
	// Band is the band in which a change is looked for; 40 Hz to 10 kHz if it is zero.
	Band response.Band
	// Margin in dB is the smallest change that would matter; 0.5 if zero, which is a convention.
	Margin float64
	// Against is the condition with which all others are compared. If it is empty, every two
	// conditions are compared.
	Against string
	// Random states that the order of the seatings was drawn at random, and InTurn that the
	// conditions alternated (A B A B). With InTurn a drift in proportion to the order of the
	// seatings is removed.
	Random, InTurn bool
	// Day is the standard uncertainty in dB from day to day, for conditions that were measured on
	// one day each; 0 if it is not known.
	Day float64
	// Confidence is the confidence level of the statements; 0.95 if zero.
	Confidence float64
}

func (o Config) withDefaults() Config {
	if o.Band == (response.Band{}) {
		o.Band = response.Band{Low: 40, High: 10000}
	}
	o.Margin, o.Confidence = cmp.Or(o.Margin, 0.5), cmp.Or(o.Confidence, 0.95)
	return o
}

func (o Config) check() error {
	switch {
	case o.Band.Empty():
		return fmt.Errorf("the band, %v Hz to %v Hz, holds nothing; give its low end first", o.Band.Low, o.Band.High)
	case !(o.Margin > 0) || math.IsInf(o.Margin, 0):
		return fmt.Errorf("a margin of %v dB; give the change that would matter, above zero", o.Margin)
	case !(o.Day >= 0) || math.IsInf(o.Day, 0):
		return fmt.Errorf("%v dB from day to day; it is a standard uncertainty, not below zero", o.Day)
	case !(o.Confidence > 0.5 && o.Confidence < 1):
		return fmt.Errorf("a confidence of %v; it lies between 0.5 and 1, such as 0.95", o.Confidence)
	}
	return nil
}

// Change describes how one condition differs from another.
type Change struct {
	// From and To are the conditions; Design says in words how they were measured.
	From, To, Design string
	// Deviation is To less From, from none: its Curve with the components of its uncertainty, and
	// the figures of the whole band and of its octaves. HalfWidth of the Curve is that of the
	// pointwise interval.
	target.Deviation
	// Simultaneous is the half width in dB, at each point of the Curve, of the band that contains
	// the whole true difference. It is NaN where it is not known.
	Simultaneous []float64
	// Changed are the stretches where the band excludes that there was no change, and Surest is the
	// change in dB where the band is furthest from none, with the half width of the band; not known
	// without any.
	Changed []response.Band
	Surest  target.MaxDeviation
	// Possible is the largest change in dB in the band that two one-sided tests do not exclude, and
	// PossibleAt its frequency in Hz; both are NaN if they are not known. Margin is that of the
	// Config.
	Possible, PossibleAt, Margin float64
	// Answer is Yes if the response changed, No if it did not and a change as large as the margin
	// is excluded, and otherwise CannotTell. Each of the Figures has an answer of its own.
	Answer target.Answer
	// Figures are the changes of the single figures.
	Figures []FigureChange
	// Notes are sentences that belong beside the result wherever it is shown.
	Notes []string

	confidence float64
}

func (c *Change) addFigure(name string, f response.Figure) {
	c.Figures = append(c.Figures, FigureChange{Name: name, Figure: f, P: f.Chance()})
}

// look finds the frequencies at which there is a change, the largest change that is not excluded,
// and the answer.
func (c *Change) look(confidence float64) {
	c.Surest = target.MaxDeviation{Level: response.NotKnown("dB"), Frequency: math.NaN()}
	c.Possible, c.PossibleAt = math.NaN(), math.NaN()
	pointwise := c.Curve.HalfWidth(2*confidence - 1) // both ends of one-sided intervals
	var least float64
	inside := false
	for i, v := range c.Curve.Level {
		f, away := c.Curve.Frequency[i], math.Abs(v)-c.Simultaneous[i]
		if away > 0 {
			if !inside {
				c.Changed = append(c.Changed, response.Band{Low: f})
			}
			c.Changed[len(c.Changed)-1].High = f
		}
		inside = away > 0
		if away > least {
			least = away
			c.Surest = target.MaxDeviation{Level: response.Figure{Value: v, Uncertainty: c.Curve.Uncertainty[i], Unit: "dB"}.
				WithEnds(band{v, c.Simultaneous[i]}), Frequency: f}
		}
	}
	// If the band is not known everywhere, no change is excluded.
	if pointwise != nil && !slices.ContainsFunc(pointwise, math.IsNaN) {
		for i, v := range c.Curve.Level {
			if most := math.Abs(v) + pointwise[i]; i == 0 || most > c.Possible {
				c.Possible, c.PossibleAt = most, c.Curve.Frequency[i]
			}
		}
	}
	for i := range c.Changed {
		if c.Surest.Frequency >= c.Changed[i].Low && c.Surest.Frequency <= c.Changed[i].High {
			c.Surest.Band = c.Changed[i]
		}
	}
	switch {
	case len(c.Changed) > 0:
		c.Answer = target.Yes
	case c.Possible <= c.Margin:
		c.Answer = target.No
	}
}

// FigureChange describes the change of one figure.
type FigureChange struct {
	Name string
	response.Figure
	// P is the probability of a change at least as large, in either direction, if there is none.
	// Adjusted is the same with allowance for all figures and comparisons. Both are NaN if they are
	// not known.
	P, Adjusted float64
	Changed     bool
}

// comparison is what Compare works on.
type comparison struct {
	Config
	seatings   []Seating
	conditions []string
	pairs      [][2]int
	grid       []float64
	band       response.Band // of the grid
	notes      []string
}

func newComparison(seatings []Seating, o Config) (*comparison, error) {
	c := &comparison{Config: o, seatings: slices.Clone(seatings), band: o.Band}
	for i, s := range seatings {
		curve := s.Response
		if _, err := response.NewCurve(curve.Frequency, curve.Level); err != nil {
			return nil, fmt.Errorf("seating %d, %q: %w", i+1, s.Condition, err)
		}
		if curve.Rig != seatings[0].Response.Rig {
			return nil, fmt.Errorf("seatings 1 and %d: %w: %q and %q; compare what was measured on one",
				i+1, response.ErrOtherRig, seatings[0].Response.Rig, curve.Rig)
		}
		if !slices.Contains(c.conditions, s.Condition) {
			c.conditions = append(c.conditions, s.Condition)
		}
		c.band = c.band.Intersect(curve.Valid).Intersect(
			response.Band{Low: curve.Frequency[0], High: curve.Frequency[len(curve.Frequency)-1]})
	}
	switch {
	case len(seatings) == 0:
		return nil, errors.New("there are no seatings")
	case len(c.conditions) < 2:
		return nil, fmt.Errorf("there is one condition, %q; name another, so that there is something to compare",
			strings.Join(c.conditions, ""))
	case o.Against != "" && !slices.Contains(c.conditions, o.Against):
		return nil, fmt.Errorf("no seating is in the condition %q; there are %s", o.Against,
			strings.Join(c.conditions, ", "))
	}
	for b := range c.conditions {
		for a := range b {
			switch o.Against {
			case "", c.conditions[a]:
				c.pairs = append(c.pairs, [2]int{a, b})
			case c.conditions[b]:
				c.pairs = append(c.pairs, [2]int{b, a})
			}
		}
	}
	all := response.LogGrid(c.band.Low, c.band.High, perOctave)
	for _, f := range grid.Union(c.band.Low, c.band.High, []float64{c.band.Low, c.band.High}, all) {
		if !slices.ContainsFunc(seatings, func(s Seating) bool { return math.IsNaN(s.Response.At(f)) }) {
			c.grid = append(c.grid, f)
		}
	}
	if len(c.grid) < 2*window {
		return nil, fmt.Errorf("%w in %v: there are not half an octave of frequencies at which all seatings are known",
			target.ErrNoOverlap, o.Band)
	}
	if err := c.checkUnits(); err != nil {
		return nil, err
	}
	c.checkOrder()
	c.checkCopies()
	return c, nil
}

// checkUnits returns an error for a figure that two seatings give in two units.
func (c *comparison) checkUnits() error {
	for i, s := range c.seatings {
		for name, f := range s.Figures {
			if unit := c.unit(name); f.Known() && f.Unit != unit {
				return fmt.Errorf("seating %d, %q: %s is given in %q and elsewhere in %q; give it in one unit",
					i+1, s.Condition, name, f.Unit, unit)
			}
		}
	}
	return nil
}

// checkCopies adds a note about two seatings that hold the same response.
func (c *comparison) checkCopies() {
	for k, b := range c.seatings {
		for i, a := range c.seatings[:k] {
			if floats.Same(a.Response.Level, b.Response.Level) &&
				slices.Equal(a.Response.Frequency, b.Response.Frequency) {
				c.notes = append(c.notes, fmt.Sprintf("Seatings %d and %d hold the same response: one measurement is named "+
					"twice, and the interval is too narrow. Name each seating once.", i+1, k+1))
				return
			}
		}
	}
}

// checkOrder adds a note if the order of the seatings may look like a change.
func (c *comparison) checkOrder() {
	turns := 0
	for i := 1; i < len(c.seatings); i++ {
		if c.seatings[i].Condition != c.seatings[i-1].Condition {
			turns++
		}
	}
	apart := turns == len(c.conditions)-1
	if c.InTurn && apart && len(c.seatings) > len(c.conditions) {
		c.notes = append(c.notes, "The conditions are stated to have been measured in turn, but all seatings of one "+
			"come before those of the next: a drift cannot be distinguished from a change. Take turns: A B A B.")
	}
	if c.InTurn || c.Random {
		return
	}
	if apart {
		c.notes = append(c.notes, "All seatings of one condition were measured before those of the next: "+
			"whatever drifted meanwhile looks like a change. Draw the order, or take turns.")
		return
	}
	c.notes = append(c.notes, "The order of the seatings was not drawn: "+
		"whatever comes and goes with it may look like a change. Draw the order, or take turns and say so.")
}

func (c *comparison) response(s Seating) (response.Curve, bool) {
	curve := s.Response.Resample(c.grid)
	curve.Valid = response.Band{Low: c.grid[0], High: c.grid[len(c.grid)-1]}
	return curve, true
}

// changes makes all comparisons.
func (c *comparison) changes() ([]Change, error) {
	var out []Change
	alpha := (1 - c.Confidence) / float64(len(c.pairs))
	design, err := c.design(c.response, "dB")
	if err != nil {
		return nil, err
	}
	for _, p := range c.pairs {
		d, scatter, err := design.difference(p[0], p[1])
		if err != nil {
			return nil, err
		}
		one := Change{From: c.conditions[p[0]], To: c.conditions[p[1]], Design: design.words(p[0], p[1]),
			Margin: c.Margin, confidence: c.Confidence, Notes: append(slices.Clone(c.notes), design.notes...)}
		none := target.Flat()
		none.Name, none.Curve.Rig = one.From, d.Rig
		d.Valid = response.Band{Low: c.grid[0], High: c.grid[len(c.grid)-1]}
		whole := target.Region{Name: "level", Band: d.Valid}
		one.Deviation, err = target.CompareSeatings([]response.Curve{d}, none, target.Config{Band: d.Valid,
			Align: target.Alignment{None: true}, Regions: []target.Region{whole}, Confidence: c.Confidence})
		if err != nil {
			return nil, err
		}
		one.Curve = d
		one.Simultaneous = scatter.simultaneous(d, alpha, design.relabelled(p[0], p[1], alpha))
		one.look(c.Confidence)
		one.addFigure("level", one.Regions[0].Mean)
		one.addFigure("tilt", one.Tilt)
		one.say(design, p)
		out = append(out, one)
	}
	if c.band != c.Band {
		for i := range out {
			out[i].Notes = append(out[i].Notes, fmt.Sprintf(
				"Asked to compare over %v, compared over %v, where all seatings are known.", c.Band, c.band))
		}
	}
	if err := c.figures(out); err != nil {
		return nil, err
	}
	c.adjust(out, design)
	return out, nil
}

// figures compares the figures that every condition has.
func (c *comparison) figures(out []Change) error {
	for _, name := range c.names() {
		unit := c.unit(name)
		design, err := c.design(number(name), unit)
		if errors.Is(err, errMissing) {
			continue
		} else if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		for i, p := range c.pairs {
			d, _, err := design.difference(p[0], p[1])
			if err != nil {
				return fmt.Errorf("%s: %w", name, err)
			}
			f := d.Figure(1000)
			f.Unit = unit
			out[i].addFigure(name, f)
		}
	}
	return nil
}

// names returns the names of all figures.
func (c *comparison) names() []string {
	all := map[string]bool{}
	for _, s := range c.seatings {
		for name := range s.Figures {
			all[name] = true
		}
	}
	return slices.Sorted(maps.Keys(all))
}

// unit returns that of a figure.
func (c *comparison) unit(name string) string {
	for _, s := range c.seatings {
		if f := s.Figures[name]; f.Known() {
			return f.Unit
		}
	}
	return ""
}

// adjust allows for the number of figures and comparisons: within one figure by the distribution of
// the largest of several t, and over the figures by their number (Bonferroni).
func (c *comparison) adjust(out []Change, d *design) {
	for k := range out[0].Figures {
		for i, p := range c.pairs {
			f := &out[i].Figures[k]
			f.Adjusted = min(1, d.together(f.Figure, p[0], p[1])*float64(len(out[0].Figures)))
			f.Changed = f.Adjusted < 1-c.Confidence
		}
	}
}

// pick returns a quantity of a seating as a curve, and whether the seating has it.
type pick func(Seating) (response.Curve, bool)

// band has the ends of the simultaneous band, whatever probability is asked for.
type band struct{ value, half float64 }

func (b band) Ends(float64) (low, high float64) { return b.value - b.half, b.value + b.half }

// Compare compares conditions. The seatings are in the order in which they were measured. Seatings
// of two rigs give an error that wraps [response.ErrOtherRig], and fewer than two conditions give
// an error. If there are too few seatings to estimate their scatter, the changes say so and have no
// interval.
func Compare(seatings []Seating, o Config) ([]Change, error) {
	o = o.withDefaults()
	if err := o.check(); err != nil {
		return nil, fmt.Errorf("change: %w", err)
	}
	c, err := newComparison(seatings, o)
	if err != nil {
		return nil, fmt.Errorf("change: %w", err)
	}
	changes, err := c.changes()
	if err != nil {
		return nil, fmt.Errorf("change: %w", err)
	}
	return changes, nil
}

// number picks a figure as a curve that is constant over frequency, so that figures and curves are
// treated alike.
func number(name string) pick {
	return func(s Seating) (response.Curve, bool) {
		f := s.Figures[name]
		c := response.Curve{Frequency: []float64{500, 1000, 2000}, Level: []float64{f.Value, f.Value, f.Value},
			Valid: response.AllFrequencies}
		if f.Budget != nil {
			c.Components = []response.CurveComponent{}
		}
		for _, one := range f.Budget {
			part := response.CurveComponent{Cause: one.Cause}
			for _, e := range one.Effects {
				part.Effects = append(part.Effects, []float64{e, e, e})
			}
			c.Components = append(c.Components, part)
		}
		return c.Refreshed(), f.Known()
	}
}
