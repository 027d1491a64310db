package tone

import (
	"errors"
	"fmt"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// What callers may want to branch on.
var (
	ErrAbsent    = errors.New("the tone is not there")
	ErrTwoTones  = errors.New("more than one tone")
	ErrUnsteady  = errors.New("the tone does not last throughout")
	ErrTooShort  = errors.New("too short")
	ErrNotFinite = errors.New("not a number, or infinite")
)

// AbsentError says that a tone was not found, and what was found instead.
type AbsentError struct {
	Wanted float64 // Hz; 0 when any tone would have done
	Found  float64 // Hz, the strongest thing there; 0 when nothing stands out
	Level  float64 // dBFS peak, of what was found
	Offset float64 // full scale = 1
}

func (e *AbsentError) Error() string {
	what := "no tone stands out"
	if e.Wanted > 0 {
		what = "there is no tone at " + response.FormatFrequency(e.Wanted)
	}
	if e.Found > 0 {
		return fmt.Sprintf("tone: %s; the strongest thing there is %s at %.1f dBFS: check which recording this is, and the frequency asked for",
			what, response.FormatFrequency(e.Found), e.Level)
	}
	return fmt.Sprintf("tone: %s above the noise, and the offset is %.3g of full scale: check that something was played, and the input it was recorded from",
		what, e.Offset)
}

// Unwrap makes it an ErrAbsent.
func (e *AbsentError) Unwrap() error { return ErrAbsent }

// moreTones is the error for a second tone, so many times as strong as the first.
func moreTones(first, second, times float64) error {
	return fmt.Errorf("tone: %w: besides %s there is %s at %+.1f dB, and it is not its distortion: analyse two tones as such, or remove the second",
		ErrTwoTones, response.FormatFrequency(first), response.FormatFrequency(second), decibel.OfAmplitude(times))
}

// TooShortError says how long a recording has to be.
type TooShortError struct {
	Have, Need float64 // seconds
	Why        string  // what the length is needed for
}

func (e *TooShortError) Error() string {
	return fmt.Sprintf("tone: %.3g s is too short; record at least %.3g s, for %s", e.Have, e.Need, e.Why)
}

// Unwrap makes it an ErrTooShort.
func (e *TooShortError) Unwrap() error { return ErrTooShort }
