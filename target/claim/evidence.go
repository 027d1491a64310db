package claim

import (
	"math"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/target"
)

// Evidence is what was measured. What is missing makes the claims that need it
// "cannot tell here".
type Evidence struct {
	// Seatings has the pair's response, the mean of its sides, once for each
	// time it was put on the rig.
	Seatings []response.Curve
	// Match has left less right in dB, once for each seating.
	Match []response.Curve
	// Calibration has the errors that all seatings share.
	Calibration target.UncertaintyComponents
	// Microphone is the band in which the microphone is known; the zero Band
	// says nothing. SampleRate of the recordings in Hz; 0 says nothing. They
	// tell why a response ends where it does.
	Microphone response.Band
	SampleRate int

	THD         []distortion.THD
	Loudest     []LoudestLevel
	Sensitivity []SensitivityAt
	Impedance   []ImpedanceAt
}

// LoudestLevel is the highest level that was reached with no more than some
// distortion.
type LoudestLevel struct {
	Frequency float64 // Hz
	// Level in dB SPL.
	Level response.Figure
	// Percent of total harmonic distortion, relative to the fundamental, that was
	// not exceeded.
	Percent float64
	// Limited says that a higher level was tried, and exceeded Percent. Otherwise
	// nothing higher was tried, and the pair may well reach more.
	Limited bool
}

// SensitivityAt is a sensitivity that was measured, in [PerMilliwatt] or [PerVolt].
type SensitivityAt struct {
	Frequency float64 // Hz
	Figure    response.Figure
}

// ImpedanceAt is the magnitude of the impedance in Ω.
type ImpedanceAt struct {
	Frequency float64 // Hz
	Figure    response.Figure
}

// sameFrequency tells whether what was measured at a frequency holds for a claim
// at another: within 1/12 octave.
func sameFrequency(measured, claimed float64) bool {
	return math.Abs(math.Log2(measured/claimed)) <= 1./12+1e-9
}

// impedanceAt returns the impedance at a frequency; not known if it was not
// measured there.
func (e Evidence) impedanceAt(f float64) response.Figure {
	best, found := math.Inf(1), response.NotKnown("Ω")
	for _, z := range e.Impedance {
		if away := math.Abs(math.Log2(z.Frequency / f)); sameFrequency(z.Frequency, f) && away < best {
			best, found = away, z.Figure
		}
	}
	return found
}
