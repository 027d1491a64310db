package capture

import (
	"errors"
	"fmt"
	"io/fs"

	"example.com/earnest/internal/flac"
	"example.com/earnest/internal/regular"
	"example.com/earnest/internal/wav"
)

// The faults of a recording or its file, for errors.Is. A missing file is fs.ErrNotExist, and a
// file that must not be replaced is fs.ErrExist.
var (
	ErrNotWAV      = wav.ErrNotWAV      // neither a WAV nor a FLAC file, whatever its name
	ErrUnsupported = wav.ErrUnsupported // compressed, big-endian, or samples of another kind
	ErrHeader      = wav.ErrHeader      // a header that contradicts itself or the file
	ErrTruncated   = wav.ErrTruncated   // the file ends before the length in its header
	ErrChecksum    = flac.ErrChecksum   // a FLAC file that was damaged after it was recorded
	ErrEmpty       = wav.ErrEmpty       // no samples
	ErrTooLarge    = wav.ErrTooLarge    // larger than allowed
	ErrNotFinite   = wav.ErrNotFinite   // a sample is NaN or infinite
	ErrFullScale   = wav.ErrFullScale   // a sample above full scale, to be written as an integer
	ErrChannel     = errors.New("no channel")
)

// named adds the name of the recording to err.
func named(name string, err error) error {
	if err == nil {
		return nil
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
