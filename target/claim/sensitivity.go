package claim

import (
	"cmp"
	"fmt"
	"math"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// The units of a sensitivity.
const (
	PerMilliwatt = "dB SPL/mW"
	PerVolt      = "dB SPL/V"
)

// SensitivityTolerance is the tolerance in dB of a sensitivity whose claim states none. It is a
// convention of ours, in the range that makers state.
const SensitivityTolerance = 3

// Sensitivity claims a sound pressure level for a given input power or voltage.
type Sensitivity struct {
	Value float64 // dB SPL
	// Unit is PerMilliwatt or PerVolt; empty means not stated.
	Unit string
	At   float64 // Hz; 0 means not stated, and 1 kHz is taken
	// Tolerance is in dB to both sides; 0 means not stated, and SensitivityTolerance is used.
	Tolerance float64
}

// String returns the claim: "sensitivity of 102 dB SPL/mW at 1 kHz ± 3 dB".
func (c Sensitivity) String() string {
	return fmt.Sprintf("sensitivity of %g %s", c.Value, cmp.Or(c.Unit, "dB")) + at(c.At) + plusMinus(c.Tolerance, "dB")
}

func (c Sensitivity) check() error {
	switch {
	case c.Unit != "" && c.Unit != PerMilliwatt && c.Unit != PerVolt:
		return fmt.Errorf("the unit %q; the units are %q and %q", c.Unit, PerMilliwatt, PerVolt)
	case c.Value == 0:
		return fmt.Errorf("there is no value; give it in dB SPL for a milliwatt or a volt")
	case !(c.Tolerance >= 0):
		return fmt.Errorf("a tolerance of %v dB; tolerances are zero or more", c.Tolerance)
	}
	return cmp.Or(checkFrequency(c.At), checkLevel(c.Value))
}

func (c Sensitivity) judge(e Evidence) (Verdict, error) {
	f, assumed := c.At, ""
	if f == 0 {
		f, assumed = 1000, "; the claim states no frequency, and 1 kHz was taken"
	}
	m := least(known(e.Sensitivity, f), func(m FigureAt) float64 {
		apart := math.Abs(math.Log2(m.Frequency / f)) // at most 1/12
		if m.Unit == c.Unit {
			return apart
		}
		return 1 + apart
	})
	z := e.impedanceAt(f)
	switch {
	case len(e.Sensitivity) == 0:
		return undecided(NotMeasured, none(c.Unit), "the sensitivity was not measured"), nil
	case !m.Known():
		return undecided(NotAtThatFrequency, none(c.Unit), "the sensitivity was not measured%s%s", at(f), assumed), nil
	case c.Unit == "":
		return undecided(NoReferenceStated, m, "the claim does not say for what: a milliwatt or a volt; measured was %s%s%s",
			m.WithInterval(confidence), at(m.Frequency), assumed), nil
	case m.Unit != c.Unit && !(z.Value > 0):
		return undecided(NotMeasured, m, "measured was %s, and without the impedance%s it cannot be turned into %s",
			m.WithInterval(confidence), at(f), c.Unit), nil
	case m.Unit != c.Unit:
		m.Figure = converted(m.Figure, z.Figure, c.Unit)
	}
	tolerance := c.Tolerance
	if tolerance == 0 {
		tolerance = SensitivityTolerance
		assumed += fmt.Sprintf("; the claim states no tolerance, and ±%d dB were taken", SensitivityTolerance)
	}
	v := decided(m, c.Value-tolerance, c.Value+tolerance, "the sensitivity at %s",
		fmt.Sprintf("%g ± %g dB", c.Value, tolerance))
	v.Reason += assumed
	if why := c.otherwise(m, z, tolerance); v.Outcome == NotMet && why != "" {
		v.Warnings = append(v.Warnings, why)
	}
	return v, nil
}

// otherwise returns a sentence about a common mistake that would explain the difference from the
// claim; empty if no such mistake is known.
func (c Sensitivity) otherwise(m, z FigureAt, tolerance float64) string {
	other := PerVolt
	if c.Unit == PerVolt {
		other = PerMilliwatt
	}
	const setting, near = 20, 1.5 // dB between the two levels of a sound calibrator (common practice)
	switch off := math.Abs(m.Value - c.Value); {
	case z.Value > 0 && math.Abs(converted(m.Figure, z.Figure, other).Value-c.Value) <= tolerance:
		return fmt.Sprintf("the figure would hold in %s; look at the unit in the data sheet", other)
	case math.Abs(off-setting) < near:
		return "this is the difference between 94 and 114 dB; look at the level of the calibrator"
	}
	return ""
}

// converted converts a sensitivity per milliwatt to one per volt or back:
//
//	dB SPL/V = dB SPL/mW + 10 log10(1000 Ω/Z), from P = V²/Z.
func converted(f, z response.Figure, unit string) response.Figure {
	gain := decibel.OfPower(1000 / z.Value)
	if unit == PerMilliwatt {
		gain = -gain
	}
	return response.Figure{
		Value: f.Value + gain, Unit: unit, DegreesOfFreedom: f.DegreesOfFreedom,
		Uncertainty: math.Hypot(f.Uncertainty, 10/math.Ln10*z.Uncertainty/z.Value),
	}
}
