package programme

import (
	"errors"
	"fmt"
	"math"

	"example.com/earnest/response"
)

// What can be wrong with two recordings, for errors.Is.
var (
	ErrSilent    = errors.New("the recording is silent")
	ErrDifferent = errors.New("the two recordings are not of the same material")
	ErrCut       = errors.New("a piece of the recording is missing or doubled")
	ErrTooShort  = errors.New("too few seconds")
	ErrRate      = errors.New("the sample rates differ")
)

// DifferentError says that no stretch of the direct recording was found in the
// other one. It is ErrDifferent.
type DifferentError struct {
	Direct, Through string // names of the recordings
	// Prominence of the best match in dB above the rest; Needed is what the
	// same material reaches at the least.
	Prominence, Needed float64
}

func (e *DifferentError) Error() string {
	return fmt.Sprintf("programme: %s: %v as %s: the best match stands %.0f dB above the rest, the same material reaches %.0f dB and more; check which file belongs to which",
		e.Through, ErrDifferent, e.Direct, e.Prominence, e.Needed)
}

// Unwrap gives ErrDifferent.
func (e *DifferentError) Unwrap() error { return ErrDifferent }

// CutError says that the recording through the headphones jumps. It is ErrCut.
type CutError struct {
	Name string
	// At is the time in seconds in the direct recording, to within Within.
	At, Within float64
	// Jump in seconds: below zero a piece of that length is missing, above
	// zero it is there twice, or something else stands there. NaN where the
	// rest was not found at all.
	Jump float64
}

func (e *CutError) Error() string {
	where := fmt.Sprintf("programme: %s: %v, at %.2f s of the direct recording (to within %.2f s)", e.Name, ErrCut, e.At, e.Within)
	switch {
	case math.IsNaN(e.Jump):
		return where + ": what follows is not in it; record again, or compare the parts by themselves"
	case e.Jump < 0:
		return fmt.Sprintf("%s: %.4g s are missing; record again without interruption, or compare the parts by themselves", where, -e.Jump)
	}
	return fmt.Sprintf("%s: %.4g s too many; record again without interruption, or compare the parts by themselves", where, e.Jump)
}

// Unwrap gives ErrCut.
func (e *CutError) Unwrap() error { return ErrCut }

// ShortError says that the two recordings share too few seconds for the lowest
// frequency asked for. It is ErrTooShort.
type ShortError struct {
	// Low is the lowest frequency asked for in Hz; Reached is how low the
	// seconds at hand go, NaN if they serve for nothing.
	Low, Reached float64
	// Shared is how many seconds there are, Needed how many it takes.
	Shared, Needed float64
}

func (e *ShortError) Error() string {
	return "programme: " + ErrTooShort.Error() + ": " + e.text()
}

func (e *ShortError) text() string {
	reached := "which is not enough for anything"
	if !math.IsNaN(e.Reached) {
		reached = "which reach down to " + response.FormatFrequency(e.Reached)
	}
	return fmt.Sprintf("%s takes %.1f s of material; the recordings share %.1f s, %s; record more of it",
		response.FormatFrequency(e.Low), e.Needed, e.Shared, reached)
}

// Unwrap gives ErrTooShort.
func (e *ShortError) Unwrap() error { return ErrTooShort }
