package level

import (
	"errors"
	"fmt"
	"math"

	"example.com/earnest/response"
)

// ErrInput is wrapped by every error about a figure that is not known, has the wrong sign or has
// another unit.
var ErrInput = errors.New("cannot be used")

// The units of figures.
const (
	Ohm               = "Ω"
	Volt              = "V"
	Ampere            = "A"
	Milliwatt         = "mW"
	Decibel           = "dB"
	SoundPressure     = "dB SPL"    // re 20 µPa, rms
	PeakSoundPressure = "dB peak"   // re 20 µPa, 20 log10 of the largest instantaneous pressure
	AWeighted         = "dB(A)"     // re 20 µPa, rms after the A-weighting of IEC 61672-1
	SoundPerVolt      = "dB SPL/V"  // of a sine, rms for rms
	SoundPerMilliwatt = "dB SPL/mW" // of a sine, at its mean power
	RecordedLevel     = "dBFS rms"  // 20 log10 of the rms of samples whose full scale is 1
	VoltPerSample     = "V/FS"      // for a sample of 1, instantaneous for instantaneous
	Metre             = "m"
)

// check returns an error if f is not known, or is not in the unit. The text what names it in the
// error.
func check(f response.Figure, what, unit string) error {
	switch {
	case f.Unit != "" && f.Unit != unit:
		return fmt.Errorf("level: %s %w: it is given in %s; give it in %s", what, ErrInput, f.Unit, unit)
	case f.Unit == "" && f.Value != 0 && !math.IsNaN(f.Value):
		return fmt.Errorf("level: %s %w: it is given without a unit; give it in %s", what, ErrInput, unit)
	case !f.Known() || math.IsInf(f.Value, 0):
		return fmt.Errorf("level: %s %w: it is not known; measure it or take it from the data sheet, in %s",
			what, ErrInput, unit)
	case f.Uncertainty < 0 || math.IsInf(f.Uncertainty, 0):
		return fmt.Errorf("level: %s %w: its uncertainty is %v %s; give the standard uncertainty, or NaN if it is not known",
			what, ErrInput, f.Uncertainty, unit)
	}
	return nil
}

// checkPositive is like check, and also returns an error for a figure that is not above zero.
func checkPositive(f response.Figure, what, unit string) error {
	if err := check(f, what, unit); err != nil {
		return err
	}
	if f.Value <= 0 {
		return fmt.Errorf("level: %s %w: %v %s is not above zero; correct it", what, ErrInput, f.Value, unit)
	}
	return nil
}

// propagate evaluates a function of independent figures, and propagates their uncertainties through
// it,
//
//	u² = Σ ui²,  ui = [f(…, xi + u(xi), …) − f(…, xi − u(xi), …)]/2
//
// (JCGM 100:2008, 5.1.2 with the differences of 5.1.3, note 2).
func propagate(unit string, f func(x []float64) float64, inputs ...response.Figure) response.Figure {
	x := make([]float64, len(inputs))
	for i, in := range inputs {
		x[i] = in.Value
	}
	out := response.Figure{Value: f(x), Unit: unit}
	for i, in := range inputs {
		if in.Uncertainty == 0 {
			continue
		}
		x[i] = in.Value + in.Uncertainty
		above := f(x)
		x[i] = in.Value - in.Uncertainty
		below := f(x)
		x[i] = in.Value
		out.Uncertainty = math.Hypot(out.Uncertainty, (above-below)/2)
	}
	return out
}
