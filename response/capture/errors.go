package capture

import (
	"errors"
	"fmt"
	"io/fs"

	"example.com/earnest/internal/flac"
	"example.com/earnest/internal/regular"
	"example.com/earnest/internal/wav"
)

// What can be wrong with a recording or its file, for errors.Is. A missing file is fs.ErrNotExist,
// and a file that must not be replaced is fs.ErrExist.
var (
	ErrNotWAV      = wav.ErrNotWAV      // neither a WAV nor a FLAC file, whatever its name says
	ErrUnsupported = wav.ErrUnsupported // compressed, big-endian, or samples of another kind
	ErrHeader      = wav.ErrHeader      // a header that contradicts itself or the file
	ErrTruncated   = wav.ErrTruncated   // the file ends before its header says
	ErrChecksum    = flac.ErrChecksum   // a FLAC file that was damaged after it was recorded
	ErrEmpty       = wav.ErrEmpty       // no samples
	ErrTooLarge    = wav.ErrTooLarge    // larger than allowed
	ErrNotFinite   = wav.ErrNotFinite   // a sample is NaN or infinite
	ErrFullScale   = wav.ErrFullScale   // a sample to be written as integer is above full scale
	ErrChannel     = errors.New("no channel")
)

// SampleError points at the first sample that cannot be used. It unwraps to ErrNotFinite or
// ErrFullScale.
type SampleError struct {
	Channel  int     // counted from 1
	Channels int     // of the recording
	Time     float64 // seconds from the beginning
	Value    float64 // full scale = 1
	Err      error
}

func (e *SampleError) Error() string { return (*wav.SampleError)(e).Error() }
func (e *SampleError) Unwrap() error { return e.Err }

// TruncatedError says how much of a file that was cut short is there. It unwraps to ErrTruncated.
type TruncatedError struct {
	Present, Promised float64 // seconds: in the file, and by its header
}

func (e *TruncatedError) Error() string { return (*wav.TruncatedError)(e).Error() }
func (e *TruncatedError) Unwrap() error { return ErrTruncated }

// FormatError says what is wrong with the bytes of a file, and where. It unwraps to one of the
// variables above.
type FormatError struct {
	Offset int64  // bytes from the beginning of the file
	What   string // what is wrong and what to do about it
	Err    error
}

func (e *FormatError) Error() string { return (*wav.FormatError)(e).Error() }
func (e *FormatError) Unwrap() error { return e.Err }

// named says which recording err is about. Errors of package wav become those of this package.
func named(name string, err error) error {
	switch e := err.(type) {
	case nil:
		return nil
	case *wav.SampleError:
		err = (*SampleError)(e)
	case *wav.TruncatedError:
		err = (*TruncatedError)(e)
	case *wav.FormatError:
		err = (*FormatError)(e)
	}
	return fmt.Errorf("capture: %s: %w", name, err)
}

// opening explains why the file path could not be opened.
func opening(path string, err error) error {
	switch {
	case errors.Is(err, regular.ErrFolder):
		err = fmt.Errorf("%w: %w", ErrNotWAV, regular.ErrFolder)
	case errors.Is(err, regular.ErrSpecial):
		err = fmt.Errorf("%w: %w", ErrNotWAV, regular.ErrSpecial)
	case errors.Is(err, fs.ErrNotExist):
		err = fmt.Errorf("%w; check the name and the folder", fs.ErrNotExist)
	case errors.Is(err, fs.ErrPermission):
		err = fmt.Errorf("%w; make the file readable", fs.ErrPermission)
	}
	return named(path, err)
}
