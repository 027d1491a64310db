package claim

import (
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

// SensitivityTolerance, in dB, is what a sensitivity may be off by whose claim
// states no tolerance. It is a convention of ours, in the range of what makers
// state.
const SensitivityTolerance = 3

// Sensitivity claims how loud a pair plays for what it is fed.
type Sensitivity struct {
	Value float64 // dB SPL
	// Unit is PerMilliwatt or PerVolt; empty means not stated.
	Unit string
	At   float64 // Hz; 0 means not stated, and 1 kHz is taken
	// Tolerance in dB to both sides; 0 means not stated, and SensitivityTolerance
	// is taken.
	Tolerance float64
}

// String says the claim: "sensitivity of 102 dB SPL/mW at 1 kHz ± 3 dB".
func (c Sensitivity) String() string {
	unit := c.Unit
	if unit == "" {
		unit = "dB"
	}
	s := fmt.Sprintf("sensitivity of %g %s", c.Value, unit)
	if c.At > 0 {
		s += " at " + response.FormatFrequency(c.At)
	}
	if c.Tolerance > 0 {
		s += fmt.Sprintf(" ± %g dB", c.Tolerance)
	}
	return s
}

func (c Sensitivity) check() error {
	switch {
	case c.Unit != "" && c.Unit != PerMilliwatt && c.Unit != PerVolt:
		return fmt.Errorf("the unit %q; the units are %q and %q", c.Unit, PerMilliwatt, PerVolt)
	case c.Value == 0:
		return fmt.Errorf("there is no value; give it in dB SPL for a milliwatt or a volt")
	case !(c.At >= 0) || math.IsInf(c.At, 0):
		return fmt.Errorf("a frequency of %v Hz; frequencies are above zero", c.At)
	case !(c.Tolerance >= 0):
		return fmt.Errorf("a tolerance of %v dB; tolerances are zero or more", c.Tolerance)
	}
	return checkLevel(c.Value)
}

func (c Sensitivity) judge(e Evidence, o Config) (Verdict, error) {
	at, assumed := c.At, ""
	if at == 0 {
		at, assumed = 1000, "; the claim states no frequency, and 1 kHz was taken"
	}
	if len(e.Sensitivity) == 0 {
		return undecided(NotMeasured, c.Unit, "the sensitivity was not measured"), nil
	}
	var found *SensitivityAt
	for i, s := range e.Sensitivity {
		if sameFrequency(s.Frequency, at) && s.Figure.Known() && (found == nil || s.Figure.Unit == c.Unit) {
			found = &e.Sensitivity[i]
		}
	}
	if found == nil {
		return undecided(NotAtThatFrequency, c.Unit, "the sensitivity was not measured at %s%s", response.FormatFrequency(at), assumed), nil
	}
	f := found.Figure
	if c.Unit == "" {
		return Verdict{Cause: NoReferenceStated, Measured: f, Frequency: found.Frequency,
			Reason: fmt.Sprintf("the claim does not say for what: a milliwatt or a volt; measured was %s at %s%s", f.WithInterval(o.Confidence), response.FormatFrequency(found.Frequency), assumed)}, nil
	}
	if f.Unit != c.Unit {
		z := e.impedanceAt(at)
		if !(z.Value > 0) {
			return Verdict{Cause: NotMeasured, Measured: f, Frequency: found.Frequency,
				Reason: fmt.Sprintf("measured was %s, and without the impedance at %s it cannot be turned into %s", f.WithInterval(o.Confidence), response.FormatFrequency(at), c.Unit)}, nil
		}
		f = converted(f, z, c.Unit)
	}
	tolerance := c.Tolerance
	if tolerance == 0 {
		tolerance = SensitivityTolerance
		assumed += fmt.Sprintf("; the claim states no tolerance, and ±%d dB were taken", SensitivityTolerance)
	}
	v := decided(f, found.Frequency, c.Value-tolerance, c.Value+tolerance, o.Confidence,
		"the sensitivity at "+response.FormatFrequency(found.Frequency), fmt.Sprintf("%g ± %g dB", c.Value, tolerance))
	v.Reason += assumed
	return v, nil
}

// converted turns a sensitivity per milliwatt into one per volt or back:
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
