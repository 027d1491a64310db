package level

import (
	"fmt"
	"math"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// Headphones are one side of a pair as an amplifier sees it.
type Headphones struct {
	// Sensitivity in dB SPL/V at one frequency, commonly 1 kHz: a figure per milliwatt less
	// 10 log10 of the impedance over 1000 Ω.
	Sensitivity response.Figure
	// Impedance in Ω: the magnitude at that frequency. For the current that a maximum asks for, take the lowest in the band.
	Impedance response.Figure
}

// Drive is what the headphones take from the amplifier: a sine in rms terms. Its crest is √2 times as high in voltage and
// current, and twice in power.
type Drive struct {
	Voltage response.Figure // V rms at the terminals
	Current response.Figure // A rms
	Power   response.Figure // mW, the apparent power V²/|Z|, which is the mean power where the impedance is resistive
}

func (h Headphones) check() error {
	if err := check(h.Sensitivity, "sensitivity of the headphones", SoundPerVolt); err != nil {
		return err
	}
	return checkPositive(h.Impedance, "impedance of the headphones", Ohm)
}

// Amplifier is one channel of a headphone output. One of
// MaxVoltage and MaxCurrent may be left out (a zero Value) if it is not stated.
type Amplifier struct {
	// MaxVoltage in V rms of the largest undistorted sine into no load.
	MaxVoltage response.Figure
	// MaxCurrent in A rms of the largest undistorted sine it can deliver into a low impedance.
	MaxCurrent response.Figure
	// OutputImpedance in Ω; it may be 0 Ω, but not left out.
	OutputImpedance response.Figure
}

// Bottleneck names what keeps an amplifier from going higher.
type Bottleneck int

// The bottlenecks.
const (
	VoltageLimit Bottleneck = iota
	CurrentLimit
)

// String is the bottleneck in words.
func (b Bottleneck) String() string {
	if b == CurrentLimit {
		return "current"
	}
	return "voltage"
}

// MaxSPL is the highest that an amplifier drives a pair of headphones.
type MaxSPL struct {
	Level response.Figure // dB SPL of a sine
	Peak  response.Figure // dB peak of programme: the crest of that sine, 3.01 dB higher
	Drive Drive           // what the headphones then take
	// By says what limits, and Sure that it is the lower limit by more than twice its standard uncertainty. Where it is not,
	// Level takes the lower limit, whichever that may be.
	By   Bottleneck
	Sure bool
	// Findings are remarks: a limit that was not stated, and the caution that goes with a level that can hurt.
	Findings []string
}

// MaxSPL is the highest level that the amplifier reaches with these headphones. With output impedance Zo and load Z, both taken as resistive,
// the voltage at the terminals is the lower of
//
//	Vmax · Z/(Z + Zo)   and   Imax · Z
//
// and the level is the sensitivity + 20 log10 of it. An Amplifier with neither limit is an error.
func (a Amplifier) MaxSPL(h Headphones) (MaxSPL, error) {
	if err := h.check(); err != nil {
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
		r.Findings = append(r.Findings, "the amplifier's highest voltage is not stated: only its current is considered, and the level may not be reached")
	}
	if maxCurrent.Value == 0 {
		maxCurrent = response.Figure{Value: math.Inf(1), Unit: Ampere}
		r.Findings = append(r.Findings, "the amplifier's highest current is not stated: only its voltage is considered, and the level may not be reached")
	}
	inputs := []response.Figure{maxVoltage, maxCurrent, h.Impedance, a.OutputImpedance, h.Sensitivity}
	r.Level = propagate(SoundPressure, func(x []float64) float64 { return x[4] + decibel.OfAmplitude(terminals(x)) }, inputs...)
	r.Peak = response.Figure{Value: r.Level.Value + decibel.OfAmplitude(math.Sqrt2), Uncertainty: r.Level.Uncertainty, Unit: PeakSoundPressure}
	r.Drive = Drive{
		Voltage: propagate(Volt, terminals, inputs...),
		Current: propagate(Ampere, func(x []float64) float64 { return terminals(x) / x[2] }, inputs...),
		Power:   propagate(Milliwatt, func(x []float64) float64 { return 1000 * terminals(x) * terminals(x) / x[2] }, inputs...),
	}
	apart := propagate(Decibel, func(x []float64) float64 { return decibel.OfAmplitude(byVoltage(x) / byCurrent(x)) }, inputs...)
	switch { // one of the two may be without limit
	case maxVoltage.Value > math.MaxFloat64:
		r.By, r.Sure = CurrentLimit, true
	case maxCurrent.Value > math.MaxFloat64:
		r.By, r.Sure = VoltageLimit, true
	default:
		if apart.Value > 0 {
			r.By = CurrentLimit
		}
		r.Sure = math.Abs(apart.Value) > 2*apart.Uncertainty
	}
	const hurts = 100 // dB SPL: at this A-weighted level NIOSH allows a quarter of an hour a day
	if r.Level.Value >= hurts {
		r.Findings = append(r.Findings, fmt.Sprintf("%.0f dB SPL can be reached: %s", r.Level.Value, Caution))
	}
	return r, nil
}

func (a Amplifier) check() error {
	if a.MaxVoltage.Value == 0 && a.MaxCurrent.Value == 0 {
		return fmt.Errorf("level: amplifier %w: neither its highest voltage nor its highest current is stated; measure one or take it from the data sheet", ErrInput)
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

// checkOutput tells whether an output impedance can be used; none at all can.
func checkOutput(z response.Figure) error {
	if err := check(z, "output impedance", Ohm); err != nil {
		return err
	}
	if z.Value < 0 {
		return fmt.Errorf("level: output impedance %w: %v Ω is below zero; measure it again", ErrInput, z.Value)
	}
	return nil
}
