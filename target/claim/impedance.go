package claim

import (
	"fmt"
	"math"
)

// Tolerances in percent for an impedance whose claim states none. The lowest impedance is at least
// 80 % of the rated one by IEC 60268-7 (from memory). That the impedance at 1 kHz is within 20 % of
// it is a convention.
const (
	ImpedanceTolerance = 20
	ImpedanceLeast     = 80
)

// Impedance claims a rated impedance or, with At, the impedance at a frequency.
type Impedance struct {
	Ohms float64 // as claimed
	At   float64 // Hz; 0 means the rated impedance
	// Tolerance is in percent to both sides; 0 means not stated, and ImpedanceTolerance is used.
	Tolerance float64
}

// String returns the claim: "impedance of 32 Ω at 1 kHz".
func (c Impedance) String() string {
	return fmt.Sprintf("impedance of %g Ω", c.Ohms) + at(c.At) + plusMinus(c.Tolerance, "%")
}

func (c Impedance) check() error {
	switch {
	case !(c.Ohms > 0) || math.IsInf(c.Ohms, 0):
		return fmt.Errorf("an impedance of %v Ω; give it above zero", c.Ohms)
	case !(c.Tolerance >= 0 && c.Tolerance < 100):
		return fmt.Errorf("a tolerance of %v %%; give it from 0 to below 100", c.Tolerance)
	}
	return checkFrequency(c.At)
}

func (c Impedance) judge(e Evidence) (Verdict, error) {
	f, assumed := c.At, ""
	if f == 0 {
		f, assumed = 1000, "; a rated impedance is compared with that at 1 kHz and with the lowest one"
	}
	z := e.impedanceAt(f)
	switch {
	case len(e.Impedance) == 0:
		return undecided(NotMeasured, none("Ω"), "the impedance was not measured"), nil
	case !z.Known():
		return undecided(NotAtThatFrequency, none("Ω"), "the impedance was not measured%s%s", at(f), assumed), nil
	}
	tolerance := c.Tolerance
	if tolerance == 0 {
		tolerance = ImpedanceTolerance
		assumed += fmt.Sprintf("; the claim states no tolerance, and ±%d %% were taken", ImpedanceTolerance)
	}
	v := decided(z, c.Ohms*(1-tolerance/100), c.Ohms*(1+tolerance/100), "the impedance at %s",
		fmt.Sprintf("%g Ω ± %g %%", c.Ohms, tolerance))
	if c.At == 0 && v.Outcome != NotMet {
		lowest := least(e.Impedance, func(z FigureAt) float64 { return z.Value })
		low := decided(lowest, c.Ohms*ImpedanceLeast/100, math.Inf(1),
			"the lowest impedance, at %s,", fmt.Sprintf("at least %d %% of %g Ω", ImpedanceLeast, c.Ohms))
		if low.Outcome != Met {
			v = low
		}
	}
	v.Reason += assumed
	return v, nil
}
