package level

import (
	"fmt"
	"math"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// Amplifier is one channel of a headphone output. Either MaxVoltage or MaxCurrent may be left out
// (a zero Value) if it is not stated.
type Amplifier struct {
	// MaxVoltage is the largest undistorted sine without a load, in V rms.
	MaxVoltage response.Figure
	// MaxCurrent is the largest undistorted sine into a low impedance, in A rms.
	MaxCurrent response.Figure
	// OutputImpedance is in Ω. It may be 0 Ω, but must not be left out.
	OutputImpedance response.Figure
}

// MaxSPL returns the highest level that the amplifier reaches with one side of a pair, of which the
// sensitivity is in dB SPL/V at one frequency, commonly 1 kHz, and the impedance the magnitude in Ω
// at that frequency; for the greatest current, use the lowest in the band. A sensitivity in dB
// SPL/mW has to be converted: see PerMilliwatt. With an output impedance Zo and a load Z, both
// taken as resistive, the voltage at the terminals is the lower of
//
//	Vmax · Z/(Z + Zo)   and   Imax · Z
//
// and the level is the sensitivity + 20 log10 of the voltage. An Amplifier without either limit is
// an error.
func (a Amplifier) MaxSPL(sensitivity, impedance response.Figure) (MaxSPL, error) {
	if err := check(sensitivity, "sensitivity of the headphones", SoundPerVolt); err != nil {
		return MaxSPL{}, err
	}
	if err := checkPositive(impedance, "impedance of the headphones", Ohm); err != nil {
		return MaxSPL{}, err
	}
	if err := a.check(); err != nil {
		return MaxSPL{}, err
	}
	var r MaxSPL
	byVoltage := func(x []float64) float64 { return x[0] * x[2] / (x[2] + x[3]) }
	byCurrent := func(x []float64) float64 { return x[1] * x[2] }
	terminals := func(x []float64) float64 { return min(byVoltage(x), byCurrent(x)) }
	maxVoltage, maxCurrent := a.MaxVoltage, a.MaxCurrent
	if maxVoltage.Value == 0 {
		maxVoltage = response.Figure{Value: math.Inf(1), Unit: Volt}
		r.Findings = append(r.Findings, remark(LimitUnstated,
			"the amplifier's highest voltage is not stated: only its current is considered, and the level may not be reached",
			""))
	}
	if maxCurrent.Value == 0 {
		maxCurrent = response.Figure{Value: math.Inf(1), Unit: Ampere}
		r.Findings = append(r.Findings, remark(LimitUnstated,
			"the amplifier's highest current is not stated: only its voltage is considered, and the level may not be reached",
			""))
	}
	inputs := []response.Figure{maxVoltage, maxCurrent, impedance, a.OutputImpedance, sensitivity}
	r.Level = propagate(SoundPressure, func(x []float64) float64 { return x[4] + decibel.OfAmplitude(terminals(x)) },
		inputs...)
	x := []float64{maxVoltage.Value, maxCurrent.Value, impedance.Value, a.OutputImpedance.Value}
	if r.By = VoltageLimit; byCurrent(x) < byVoltage(x) {
		r.By = CurrentLimit
	}
	const hurts = 100 // dB SPL: at this A-weighted level NIOSH allows a quarter of an hour a day
	if r.Level.Value >= hurts {
		r.Findings = append(r.Findings,
			remark(Loud, fmt.Sprintf("%.0f dB SPL can be reached: %s", r.Level.Value, Caution), ""))
	}
	return r, nil
}

func (a Amplifier) check() error {
	if a.MaxVoltage.Value == 0 && a.MaxCurrent.Value == 0 {
		return fmt.Errorf("level: amplifier %w: neither its highest voltage nor its highest current is stated; "+
			"measure one or take it from the data sheet", ErrInput)
	}
	if a.MaxVoltage.Value != 0 {
		if err := checkPositive(a.MaxVoltage, "highest voltage of the amplifier", Volt); err != nil {
			return err
		}
	}
	if a.MaxCurrent.Value != 0 {
		if err := checkPositive(a.MaxCurrent, "highest current of the amplifier", Ampere); err != nil {
			return err
		}
	}
	return checkOutput(a.OutputImpedance)
}

// The limits of an amplifier.
const (
	VoltageLimit = "voltage"
	CurrentLimit = "current"
)

// MaxSPL is the highest sound pressure level that an amplifier reaches with a pair of headphones.
type MaxSPL struct {
	Level response.Figure // dB SPL of a sine; peaks of programme may be 3.01 dB higher
	By    string          // the limit that is reached first
	// Findings are remarks: a limit that is not stated, and the caution for a level that can hurt
	// hearing.
	Findings []response.Finding
}

// checkOutput returns an error for an output impedance that is not known or below zero; 0 Ω is
// valid.
func checkOutput(z response.Figure) error {
	if err := check(z, "output impedance", Ohm); err != nil {
		return err
	}
	if z.Value < 0 {
		return fmt.Errorf("level: output impedance %w: %v Ω is below zero; measure it again", ErrInput, z.Value)
	}
	return nil
}
