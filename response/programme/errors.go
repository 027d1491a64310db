package programme

import (
	"errors"
	"fmt"
	"math"

	"example.com/earnest/response"
)

// The faults of two recordings, for errors.Is.
var (
	ErrSilent    = errors.New("the recording is silent")
	ErrDifferent = errors.New("the two recordings are not of the same material")
	ErrCut       = errors.New("a piece of the recording is missing or doubled")
	ErrTooShort  = errors.New("too few seconds")
	ErrRate      = errors.New("the sample rates differ")
)

// DifferentError reports that no stretch of the direct recording was found in the other one. It
// is an ErrDifferent.
type DifferentError struct {
	Direct, Through string // names of the recordings
	// Prominence is that of the best match in dB; Needed is the least that recordings of the
	// same material reach.
	Prominence, Needed float64
}

func (e *DifferentError) Error() string {
	return fmt.Sprintf("programme: %s: %v as %s: the best match stands %.0f dB above the rest, the same material reaches %.0f dB and more; check which file belongs to which",
		e.Through, ErrDifferent, e.Direct, e.Prominence, e.Needed)
}

// Unwrap returns ErrDifferent.
func (e *DifferentError) Unwrap() error { return ErrDifferent }

// CutError reports a jump in the recording through the headphones. It is an ErrCut.
type CutError struct {
	Name string
	// At is the time of the jump in seconds of the direct recording, to within ± Within.
	At, Within float64
	// Jump is the length in seconds of a piece that is missing (below zero) or inserted (above
	// zero). NaN if nothing that follows was found.
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

// Unwrap returns ErrCut.
func (e *CutError) Unwrap() error { return ErrCut }

// ShortError reports that the two recordings share too little material for the lowest frequency
// asked for. It is an ErrTooShort.
type ShortError struct {
	// Low is the lowest frequency asked for, in Hz. Reached is the lowest for which the
	// material is long enough, NaN if it is too short for any.
	Low, Reached float64
	// Shared is the length in seconds that the recordings share; Needed is what Low takes.
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

// Unwrap returns ErrTooShort.
func (e *ShortError) Unwrap() error { return ErrTooShort }
