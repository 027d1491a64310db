package wav

import (
	"errors"
	"fmt"
)

// The faults of a file, or of samples to be written, for errors.Is.
var (
	ErrNotWAV      = errors.New("not a WAV recording")
	ErrUnsupported = errors.New("a kind of WAV that is not read")
	ErrHeader      = errors.New("the header cannot be right")
	ErrTruncated   = errors.New("the file is cut short")
	ErrEmpty       = errors.New("no samples")
	ErrTooLarge    = errors.New("too large")
	ErrNotFinite   = errors.New("a sample is not a number")
	ErrFullScale   = errors.New("a sample is above full scale")
)

// FormatError says what is wrong with the bytes of a file, and where. It unwraps to one of the
// variables above.
type FormatError struct {
	Offset int64  // bytes from the beginning of the file
	What   string // what is wrong and what to do about it
	Err    error
}

func (e *FormatError) Error() string { return fmt.Sprintf("%s (at byte %d)", e.What, e.Offset) }

func (e *FormatError) Unwrap() error { return e.Err }

// TruncatedError means that a file ends before the length in its header. It unwraps to
// ErrTruncated.
type TruncatedError struct {
	Present, Promised float64 // seconds
}

func (e *TruncatedError) Error() string {
	return fmt.Sprintf("the file is cut short: %.3f s are there of the %.3f s that its header promises; "+
		"copy or record it again",
		e.Present, e.Promised)
}

func (e *TruncatedError) Unwrap() error { return ErrTruncated }

// SampleError is the first sample that cannot be used. It unwraps to ErrNotFinite or ErrFullScale.
type SampleError struct {
	Channel  int     // counted from 1
	Channels int     // how many there are
	Time     float64 // seconds from the beginning
	Value    float64 // full scale = 1
	Err      error
}

func (e *SampleError) Error() string {
	advice := "; a fault in the program that made it: make it again, if need be as integer"
	if e.Err == ErrFullScale {
		advice = ", above full scale (1); lower the level, or write float"
	}
	return fmt.Sprintf("%s is %.6g at %.3f s%s", channelName(e.Channel, e.Channels), e.Value, e.Time, advice)
}

func (e *SampleError) Unwrap() error { return e.Err }

// TooLarge returns the error for a file of n samples where at most limit are read; n = 0 means more
// than the limit. It unwraps to ErrTooLarge.
func TooLarge(n, limit int64) error {
	found := "more samples"
	if n > 0 {
		found = fmt.Sprintf("%d samples of all channels together", n)
	}
	return fmt.Errorf("%w: %s, where %d are read at once and take %.0f MiB of memory; cut the part that matters out of it",
		ErrTooLarge, found, limit, float64(limit)*8/(1<<20))
}

func fault(kind error, offset int64, format string, a ...any) error {
	return &FormatError{Offset: offset, What: fmt.Sprintf(format, a...), Err: kind}
}
