package tone

import (
	"errors"
	"fmt"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// Errors for errors.Is.
var (
	ErrAbsent    = errors.New("the tone is not there")
	ErrTwoTones  = errors.New("more than one tone")
	ErrUnsteady  = errors.New("the tone does not last throughout")
	ErrTooShort  = errors.New("too short")
	ErrNotFinite = errors.New("not a number, or infinite")
)

// moreTones returns the error for a second tone, whose amplitude is times that of the first.
func moreTones(first, second, times float64) error {
	return fmt.Errorf("tone: %w: besides %s there is %s at %+.1f dB, and it is not its distortion: "+
		"analyse two tones as such, or remove the second",
		ErrTwoTones, response.FormatFrequency(first), response.FormatFrequency(second), decibel.OfAmplitude(times))
}

// tooShort returns the error for a recording of have seconds where need are necessary, and the
// reason.
func tooShort(have, need float64, why string) error {
	return fmt.Errorf("tone: %.3g s is %w; record at least %.3g s, for %s", have, ErrTooShort, need, why)
}
