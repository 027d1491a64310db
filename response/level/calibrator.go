package level

import (
	"fmt"
	"math"

	"example.com/earnest/response"
)

// Calibrator is a sound calibrator: it gives one level at one frequency in its coupler, with the
// microphone fully inserted.
type Calibrator struct {
	// Level is in dB SPL, as its certificate states it for this microphone and coupler: commonly
	// near 94 or 114.
	Level float64
	// Frequency is in Hz: commonly 1000 or 250.
	Frequency float64
	// Tolerance is half the width in dB of the range in which the level lies, from the certificate
	// or from the class.
	Tolerance float64
}

// Sensitivity returns the sensitivity from the level of the recorded tone in dBFS rms, as Tone
// returns it. The tolerance of the calibrator is taken as a rectangular distribution, with a
// standard uncertainty of tolerance/√3 (JCGM 100:2008, 4.3.7).
//
// Leave the gain of the interface unchanged between this recording and those that it is for.
func (c Calibrator) Sensitivity(tone response.Figure) (Sensitivity, error) {
	const lowest, highest = 60, 140 // dB SPL, outside of which no sound calibrator works
	switch {
	case !(c.Level >= lowest && c.Level <= highest):
		return Sensitivity{}, fmt.Errorf(
			"level: level of the calibrator %w: %v dB SPL; it is written on it, 94 or 114 dB as a rule", ErrInput, c.Level)
	case !(c.Frequency > 0) || math.IsInf(c.Frequency, 0):
		return Sensitivity{}, fmt.Errorf(
			"level: frequency of the calibrator %w: %v Hz; it is written on it, 1000 or 250 Hz as a rule", ErrInput, c.Frequency)
	case c.Tolerance < 0 || math.IsInf(c.Tolerance, 0):
		return Sensitivity{}, fmt.Errorf(
			"level: tolerance of the calibrator %w: %v dB; give it as a positive number, or NaN if it is not known",
			ErrInput, c.Tolerance)
	}
	if err := check(tone, "level of the calibrator's tone", RecordedLevel); err != nil {
		return Sensitivity{}, err
	}
	return Sensitivity{
		FullScale: response.Figure{Value: c.Level - tone.Value,
			Uncertainty: math.Hypot(tone.Uncertainty, c.Tolerance/math.Sqrt(3)), Unit: SoundPressure},
		Frequency: c.Frequency,
	}, nil
}

// The tolerances in dB of the level of a sound calibrator, including the uncertainty of its
// measurement, by class of IEC 60942:2003 for 160 Hz to 1.25 kHz (from memory).
const (
	Class1 = 0.40
	Class2 = 0.75
)

// Sensitivity relates the samples of a recording to sound pressure.
type Sensitivity struct {
	// FullScale is the level in dB SPL of sound that gives samples of rms 1. A full-scale sine is
	// 3.01 dB lower.
	FullScale response.Figure
	// Frequency is that of the calibrator, in Hz. A calibration of the microphone that is applied
	// as well has to be 0 dB there, since the calibrator has set the level at this frequency
	// already: normalise its Response at this frequency.
	Frequency float64
}

// SPL returns the sound pressure level of a recorded level in dBFS rms. It is not known if the
// level or the sensitivity is not.
func (s Sensitivity) SPL(recorded response.Figure) response.Figure {
	if !recorded.Known() || !s.FullScale.Known() {
		return response.NotKnown(SoundPressure)
	}
	return response.Figure{Value: recorded.Value + s.FullScale.Value,
		Uncertainty: math.Hypot(recorded.Uncertainty, s.FullScale.Uncertainty), Unit: SoundPressure}
}
