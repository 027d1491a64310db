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

// cutError reports a jump in the recording through the headphones.
type cutError struct {
	Name string
	// At is the time of the jump in seconds of the direct recording, to within ±Within.
	At, Within float64
	// Jump is the length in seconds of the piece that is missing (below zero) or inserted (above
	// zero). It is NaN if nothing that follows the jump was found.
	Jump float64
}

func (e *cutError) Error() string {
	where := fmt.Sprintf("programme: %s: %v, at %.2f s of the direct recording (to within %.2f s)",
		e.Name, ErrCut, e.At, e.Within)
	const remedy = "record again without interruption, or compare the parts by themselves"
	switch {
	case math.IsNaN(e.Jump):
		return where + ": what follows is not in it; record again, or compare the parts by themselves"
	case e.Jump < 0:
		return fmt.Sprintf("%s: %.4g s are missing; %s", where, -e.Jump, remedy)
	}
	return fmt.Sprintf("%s: %.4g s too many; %s", where, e.Jump, remedy)
}

// Unwrap returns ErrCut.
func (e *cutError) Unwrap() error { return ErrCut }

// shortage states that the two recordings share too little material for the lowest frequency asked
// for.
type shortage struct {
	// low is the lowest frequency asked for, in Hz. reached is the lowest for which the
	// material is long enough, NaN if it is too short for any.
	low, reached float64
	// shared is the length in seconds that the recordings share; needed is the length that low
	// takes.
	shared, needed float64
}

func (s shortage) err() error { return fmt.Errorf("programme: %w: %s", ErrTooShort, s.text()) }

func (s shortage) text() string {
	reached := "which is not enough for anything"
	if !math.IsNaN(s.reached) {
		reached = "which reach down to " + response.FormatFrequency(s.reached)
	}
	return fmt.Sprintf("%s takes %.1f s of material; the recordings share %.1f s, %s; record more of it",
		response.FormatFrequency(s.low), s.needed, s.shared, reached)
}

// differentError reports that no stretch of the direct recording was found in the other one. It
// states the prominence of the best match in dB, and the prominence that recordings of the same
// material reach.
func differentError(direct, through Channel, prominence, needed float64) error {
	return fmt.Errorf("programme: %s: %w as %s: the best match stands %.0f dB above the rest, the same material reaches "+
		"%.0f dB and more; check which file belongs to which", through.Name, ErrDifferent, direct.Name, prominence, needed)
}
