package claim

import (
	"fmt"
	"math"

	"example.com/earnest/response"
)

// Tolerances, in percent, of an impedance whose claim states none. That the
// lowest impedance is at least 80 % of the rated one is a rule of IEC 60268-7
// (from memory); that the impedance at 1 kHz is within 20 % of it is a convention.
const (
	ImpedanceTolerance = 20
	ImpedanceLeast     = 80
)

// Impedance claims a rated impedance or, with At, one at a frequency.
type Impedance struct {
	Ohms float64 // as claimed
	At   float64 // Hz; 0 means the rated impedance
	// Tolerance in percent to both sides; 0 means not stated, and
	// ImpedanceTolerance is taken.
	Tolerance float64
}

// String says the claim: "impedance of 32 Ω at 1 kHz".
func (c Impedance) String() string {
	s := fmt.Sprintf("impedance of %g Ω", c.Ohms)
	if c.At > 0 {
		s += " at " + response.FormatFrequency(c.At)
	}
	if c.Tolerance > 0 {
		s += fmt.Sprintf(" ± %g %%", c.Tolerance)
	}
	return s
}

func (c Impedance) check() error {
	switch {
	case !(c.Ohms > 0) || math.IsInf(c.Ohms, 0):
		return fmt.Errorf("an impedance of %v Ω; give it above zero", c.Ohms)
	case !(c.At >= 0) || math.IsInf(c.At, 0):
		return fmt.Errorf("a frequency of %v Hz; frequencies are above zero", c.At)
	case !(c.Tolerance >= 0 && c.Tolerance < 100):
		return fmt.Errorf("a tolerance of %v %%; give it from 0 to below 100", c.Tolerance)
	}
	return nil
}

func (c Impedance) judge(e Evidence, o Config) (Verdict, error) {
	if len(e.Impedance) == 0 {
		return undecided(NotMeasured, "Ω", "the impedance was not measured"), nil
	}
	at, assumed := c.At, ""
	if at == 0 {
		at, assumed = 1000, "; a rated impedance is held against the one at 1 kHz and the lowest one"
	}
	z := e.impedanceAt(at)
	if !z.Known() {
		return undecided(NotAtThatFrequency, "Ω", "the impedance was not measured at %s%s", response.FormatFrequency(at), assumed), nil
	}
	tolerance := c.Tolerance
	if tolerance == 0 {
		tolerance = ImpedanceTolerance
		assumed += fmt.Sprintf("; the claim states no tolerance, and ±%d %% were taken", ImpedanceTolerance)
	}
	v := decided(z, at, c.Ohms*(1-tolerance/100), c.Ohms*(1+tolerance/100), o.Confidence,
		"the impedance at "+response.FormatFrequency(at), fmt.Sprintf("%g Ω ± %g %%", c.Ohms, tolerance))
	if c.At == 0 && v.Outcome != NotMet {
		least := lowestImpedance(e.Impedance)
		low := decided(least.Figure, least.Frequency, c.Ohms*ImpedanceLeast/100, math.Inf(1), o.Confidence,
			"the lowest impedance, at "+response.FormatFrequency(least.Frequency)+",", fmt.Sprintf("at least %d %% of %g Ω", ImpedanceLeast, c.Ohms))
		if low.Outcome != Met {
			v = low
		}
	}
	v.Reason += assumed
	return v, nil
}

func lowestImpedance(all []ImpedanceAt) ImpedanceAt {
	best := ImpedanceAt{Figure: response.NotKnown("Ω")}
	for _, z := range all {
		if z.Figure.Known() && !(z.Figure.Value >= best.Figure.Value) {
			best = z
		}
	}
	return best
}
