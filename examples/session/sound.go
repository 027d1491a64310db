package session

import (
	"math"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/level"
)

// Sound is what the recordings mean in sound pressure.
type Sound struct {
	// Sensitivity of the microphone as it was recorded.
	Sensitivity level.Sensitivity
	// PerVolt and PerMilliwatt are the headphones' sensitivity at 1 kHz, mean of
	// the sides, in dB SPL/V and dB SPL/mW; not known without a voltage, or an
	// impedance.
	PerVolt, PerMilliwatt response.Figure
	// Impedance at 1 kHz, measured or as the session states it.
	Impedance response.Figure
	// Reach is the highest level that the session's amplifier drives them to;
	// nil when it names none.
	Reach *level.Reach
	// SweepLevel is the level of the sweep at 1 kHz as the microphone heard it,
	// dB SPL: that at which distortion was measured.
	SweepLevel response.Figure
	// Findings about the calibrator's tone and the amplifier.
	Findings []string
}

// sound reads the calibrator's recording, if there is one.
func (m *Measurement) sound(progress func(string)) error {
	c := m.Session.Calibrator
	if c.File == "" {
		return nil
	}
	progress("calibrator: " + c.File)
	rec, err := capture.Read(m.Session.path(c.File))
	if err != nil {
		return err
	}
	frequency := or(c.Frequency, 1000)
	tone, err := rec.CalibratorTone(or(c.Channel, 1), frequency)
	if err != nil {
		return err
	}
	sensitivity, err := level.Calibrator{Level: or(c.Level, 94), Frequency: frequency, Tolerance: or(c.Tolerance, level.Class2)}.
		Sensitivity(response.Figure{Value: tone.Level, Uncertainty: tone.Uncertainty, Unit: level.RecordedLevel})
	if err != nil {
		return err
	}
	m.Sound = &Sound{Sensitivity: sensitivity, Findings: tone.Findings, PerVolt: response.NotKnown(level.SoundPerVolt), PerMilliwatt: response.NotKnown(level.SoundPerMilliwatt), Impedance: response.NotKnown(level.Ohm)}
	return nil
}

// drive works out what a volt, a milliwatt and an amplifier make of it.
func (m *Measurement) drive() error {
	s, d := m.Sound, m.Session.Drive
	if s == nil {
		return nil
	}
	// The direct recording took the interface's shape out; its level at 1 kHz
	// belongs back in, for sensitivity is from samples played to samples recorded.
	recorded := m.Mean.Offset(m.directLevel)
	sweepLevel := recorded.At(1000) + m.Stimulus.Sweep().Level() - 10*math.Log10(2)
	s.SweepLevel = s.Sensitivity.SPL(response.Figure{Value: sweepLevel, Uncertainty: recorded.UncertaintyAt(1000), Unit: level.RecordedLevel})
	if d.Volts == 0 {
		return nil
	}
	volts := response.Figure{Value: d.Volts, Uncertainty: d.Volts * or(d.Uncertainty, 1) / 100, Unit: level.Volt}
	output, err := level.OutputVoltage(volts, d.Peak)
	if err != nil {
		return err
	}
	perVolt, err := level.PerVoltCurve(recorded, s.Sensitivity, output)
	if err != nil {
		return err
	}
	s.PerVolt = response.Figure{Value: perVolt.At(1000), Uncertainty: perVolt.UncertaintyAt(1000), Unit: level.SoundPerVolt}
	if s.Impedance = m.impedanceAt(1000); !s.Impedance.Known() {
		return nil
	}
	if s.PerMilliwatt, err = level.PerMilliwatt(s.PerVolt, s.Impedance); err != nil {
		return err
	}
	return m.reach()
}

// reach works out how loud the session's amplifier can go.
func (m *Measurement) reach() error {
	a, s := m.Session.Amplifier, m.Sound
	if a.MaxVolts == 0 && a.MaxMilliamps == 0 {
		return nil
	}
	reach, err := level.Amplifier{
		MaxVoltage:      response.Figure{Value: a.MaxVolts, Unit: level.Volt},
		MaxCurrent:      response.Figure{Value: a.MaxMilliamps / 1000, Unit: level.Ampere},
		OutputImpedance: response.Figure{Value: a.OutputOhms, Unit: level.Ohm},
	}.Highest(level.Headphones{Sensitivity: s.PerVolt, Impedance: s.Impedance})
	if err != nil {
		return err
	}
	s.Reach = &reach
	s.Findings = append(s.Findings, reach.Findings...)
	return nil
}
