package claim

import (
	"fmt"
	"math"
	"slices"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/target"
)

// Quantity is a quantity that a claim limits from above.
type Quantity string

// The quantities: in per cent, and crosstalk in dB relative to the side's own.
const (
	Modulation Quantity = "modulation distortion"
	Difference Quantity = "difference-frequency distortion"
	Crosstalk  Quantity = "crosstalk"
)

func (q Quantity) unit() string {
	if q == Crosstalk {
		return "dB"
	}
	return "%"
}

// AtMost claims an upper limit for modulation distortion, difference-frequency distortion or
// crosstalk. The tones are those of the standards by which Evidence was measured.
type AtMost struct {
	What  Quantity
	Limit float64 // %, or dB for crosstalk
	At    float64 // Hz, of crosstalk; 0 means not stated
}

// String returns the claim: "crosstalk of at most -60 dB at 1 kHz".
func (c AtMost) String() string {
	return fmt.Sprintf("%s of at most %g %s", c.What, c.Limit, c.What.unit()) + at(c.At)
}

func (c AtMost) check() error {
	switch {
	case !slices.Contains([]Quantity{Modulation, Difference, Crosstalk}, c.What):
		return fmt.Errorf("%q; the quantities are %s, %s and %s", c.What, Modulation, Difference, Crosstalk)
	case c.What == Crosstalk && !(c.Limit < 0 && c.Limit > -200):
		return fmt.Errorf("a crosstalk of %v dB; give it in dB relative to the side's own, below zero", c.Limit)
	case c.What != Crosstalk && !(c.Limit > 0 && c.Limit < 100):
		return fmt.Errorf("a distortion of %v %%; give the percentage that is not exceeded, above zero", c.Limit)
	}
	return checkFrequency(c.At)
}

func (c AtMost) judge(e Evidence) (Verdict, error) {
	all := e.Readings[c.What]
	known := slices.DeleteFunc(slices.Clone(all), func(r ReadingAt) bool {
		return math.IsNaN(r.AsRead) || c.At > 0 && !sameFrequency(r.Frequency, c.At)
	})
	here := slices.DeleteFunc(slices.Clone(known), func(r ReadingAt) bool { return r.Part != "" })
	beyond := slices.DeleteFunc(known, func(r ReadingAt) bool {
		return target.DecideAtMost(r.Reading, c.Limit, confidence) != target.No
	})
	stated := c.What != Crosstalk || c.At > 0
	switch {
	case len(all) == 0:
		return undecided(NotMeasured, none(c.What.unit()), "%s was not measured", c.What), nil
	case stated && len(beyond) > 0:
		// Where one side exceeds the limit, or one part of a sum of powers, the rest need not be
		// known.
		r := least(beyond, func(r ReadingAt) float64 { return -r.Value })
		return settled(target.No, FigureAt{r.Frequency, r.Figure}, c.what(r.Part), c.limit()), nil
	case len(here) == 0:
		return undecided(NotAtThatFrequency, none(c.What.unit()), "%s was not measured, or is not known%s",
			c.What, at(c.At)), nil
	}
	r := least(here, func(r ReadingAt) float64 { return -r.AtMost() })
	m := FigureAt{r.Frequency, r.Figure}
	switch answer := target.DecideAtMost(r.Reading, c.Limit, confidence); {
	case !stated && answer != target.Yes:
		return undecided(NoFrequencyStated, m,
			"the claim does not say at which frequency; the largest crosstalk that was measured is %v%s",
			r.Reading, at(r.Frequency)), nil
	case r.Below && answer == target.Yes:
		return told(Met, Measured, m, "%s is %v", c.What, r.Reading), nil
	case !r.Below && !r.Known():
		return undecided(ResponseEnds, m, "%s is not known: the floor of this measurement is not known at every one of its "+
			"products, such as one above the range of the sweep", c.What), nil
	case !r.Known():
		return undecided(BelowNoise, m, "%s is %v, which is not low enough to tell", c.What, r.Reading), nil
	default:
		return settled(answer, m, c.what(""), c.limit()), nil
	}
}

// what returns the quantity, or a part of it, with a verb for the frequency that [settled] takes.
func (c AtMost) what(part string) string {
	what := string(c.What)
	if part != "" {
		what += " of " + part + " alone"
	}
	if c.At > 0 {
		return what + " at %s"
	}
	return what + "%.0s"
}

func (c AtMost) limit() string { return fmt.Sprintf("at most %g %s", c.Limit, c.What.unit()) }

// ReadingAt is a reading of a quantity, at a frequency in Hz if it belongs to one, NaN otherwise.
type ReadingAt struct {
	Frequency float64 // Hz
	distortion.Reading
	// Part names the part of a sum of powers that was read, such as "the second order"; it is empty
	// for the whole. A part can show that a limit is exceeded, but not that it is met.
	Part string
}

// PositivePolarity claims that a positive sample gives a pressure towards the ear, on both sides.
type PositivePolarity struct{}

// String returns the claim.
func (PositivePolarity) String() string { return "positive polarity on both sides" }

func (PositivePolarity) check() error { return nil }

func (PositivePolarity) judge(e Evidence) (Verdict, error) {
	worst := least(e.Polarity, func(f response.Figure) float64 { return f.Value })
	m := FigureAt{math.NaN(), worst}
	const clear = 0.5 // mean cosine of the phase: an average phase error of 60°
	switch {
	case len(e.Polarity) < 2:
		return undecided(NotMeasured, none("1"), "the polarity of both sides was not measured"), nil
	case worst.Value > clear:
		return told(Met, Measured, m, "both sides give a pressure towards the microphone"), nil
	case worst.Value < -clear:
		return told(NotMet, Measured, m, "a side gives a pressure away from the microphone, if the rig itself is positive"),
			nil
	}
	return undecided(NotSure, m, "the phase of a side does not show its polarity"), nil
}

// Stated claims a figure that is not measured by sound: a mass, the force of the headband, the
// length of a lead, a price. Tolerances are common practice; no standard is known here.
type Stated struct {
	Name      string  // "mass"
	Value     float64 // as claimed
	Unit      string  // "g"
	Tolerance float64 // ± in the unit; 0 means not stated
	// Measured is the figure with its uncertainty, in the same unit, or not known if it was not
	// measured.
	Measured response.Figure
}

// String returns the claim: "mass of 250 g ± 5 g".
func (c Stated) String() string {
	return fmt.Sprintf("%s of %g %s", c.Name, c.Value, c.Unit) + plusMinus(c.Tolerance, c.Unit)
}

func (c Stated) check() error {
	switch {
	case c.Name == "" || c.Unit == "":
		return fmt.Errorf("a figure %q in %q; give its name and its unit", c.Name, c.Unit)
	case !(c.Value > 0) || math.IsInf(c.Value, 0):
		return fmt.Errorf("a %s of %v %s; give it above zero", c.Name, c.Value, c.Unit)
	case !(c.Tolerance >= 0) || math.IsInf(c.Tolerance, 0):
		return fmt.Errorf("a tolerance of %v %s; give it above zero, or none", c.Tolerance, c.Unit)
	case c.Measured.Uncertainty < 0 || math.IsInf(c.Measured.Uncertainty, 0) || math.IsInf(c.Measured.Value, 0):
		return fmt.Errorf("a %s measured as %v with an uncertainty of %v; give the standard uncertainty, not below zero",
			c.Name, c.Measured.Value, c.Measured.Uncertainty)
	case c.Measured.Known() && c.Measured.Unit != c.Unit:
		return fmt.Errorf("a %s claimed in %s and measured in %s; give both in one unit", c.Name, c.Unit, c.Measured.Unit)
	}
	return nil
}

func (c Stated) judge(Evidence) (Verdict, error) {
	m := FigureAt{math.NaN(), c.Measured}
	switch {
	case !m.Known():
		return undecided(NotMeasured, none(c.Unit), "the %s was not measured", c.Name), nil
	case c.Tolerance == 0:
		return undecided(NoLimitStated, m, "the claim does not say by how much the %s may differ; it is %s",
			c.Name, m.WithInterval(confidence)), nil
	}
	return decided(m, c.Value-c.Tolerance, c.Value+c.Tolerance, "the "+c.Name+"%.0s",
		fmt.Sprintf("%g %s ± %g %s", c.Value, c.Unit, c.Tolerance, c.Unit)), nil
}
