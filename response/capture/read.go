package capture

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"example.com/earnest/internal/flac"
	"example.com/earnest/internal/wav"
)

// What can be wrong with a recording, for errors.Is. A file that is not there is fs.ErrNotExist.
var (
	ErrNotWAV      = wav.ErrNotWAV      // something else, whatever its name says
	ErrUnsupported = wav.ErrUnsupported // compressed, big-endian, or samples of another kind
	ErrHeader      = wav.ErrHeader      // a header that contradicts itself or the file
	ErrTruncated   = wav.ErrTruncated   // the file ends before its header says
	ErrEmpty       = wav.ErrEmpty       // nothing in it
	ErrTooLarge    = wav.ErrTooLarge    // more than was allowed
	ErrNotFinite   = wav.ErrNotFinite   // a sample is NaN or infinite
	ErrFullScale   = wav.ErrFullScale   // a sample to be written as integer is above full scale
	ErrChecksum    = flac.ErrChecksum   // a FLAC file whose contents do not have the checksums stored with them
	ErrChannel     = errors.New("no channel")
)

// SampleError points at the first sample that cannot be used: Channel, counted from 1, of Channels; Time in
// seconds from the beginning; Value with full scale = 1; and Err, which is ErrNotFinite or ErrFullScale.
type SampleError = wav.SampleError

// TruncatedError says how many seconds of sound are Present of those Promised by the header.
type TruncatedError = wav.TruncatedError

// FormatError says What is wrong with a file and at which Offset, in bytes.
type FormatError = wav.FormatError

// usualLimit is the largest file that is read unless told otherwise: an hour and a half of two channels at 48 kHz in 32 bits.
const usualLimit = 2 << 30

// ReadOptions says how recordings are read; the zero value is what Read and Decode use.
type ReadOptions struct {
	MaxBytes int64 // largest file that is read, and largest WAV that a FLAC file may unpack to; 0 means 2 GiB. In memory every sample takes 8 bytes, whatever it takes in the file.
}

// Read reads the WAV or FLAC file path; its first bytes say which, not its name. The errors say what is wrong, where, and what to do; see the variables Err… for what they can be.
//
// A file that was cut short gives both what is there and a *TruncatedError: the caller decides whether that is of use.
// With any other error the recording is nil. A header that leaves the length open, as those written to a pipe do, is no error: see
// Recording.LengthUnstated.
func Read(path string) (*Recording, error) { return ReadOptions{}.Read(path) }

// Decode reads a WAV or FLAC file from r, with the errors of Read; name stands for it in errors and reports.
func Decode(r io.Reader, name string) (*Recording, error) { return ReadOptions{}.Decode(r, name) }

// Read is as the function Read, with options.
func (o ReadOptions) Read(path string) (*Recording, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, opening(path, err)
	}
	defer f.Close()
	about, err := f.Stat()
	switch {
	case err != nil:
		return nil, opening(path, err)
	case about.IsDir():
		return nil, fmt.Errorf("capture: %s: a folder, %w; name a file in it", path, ErrNotWAV)
	case about.Size() > o.limit():
		return nil, fmt.Errorf("capture: %s: %w: %.2f GiB where %.2f GiB are read at once; cut the part that matters out of it, or raise MaxBytes",
			path, ErrTooLarge, gibibytes(about.Size()), gibibytes(o.limit()))
	}
	var w *wav.File
	if about.Mode().IsRegular() {
		w, err = decode(f, about.Size(), o.limit())
	} else { // a pipe, which has no size
		w, err = readAll(f, o.limit())
	}
	return recording(w, filepath.Base(path)), named(path, err)
}

// Decode is as the function Decode, with options. It holds the file in memory while it decodes, unless r can be read anywhere, as an
// os.File or a bytes.Reader can.
func (o ReadOptions) Decode(r io.Reader, name string) (*Recording, error) {
	w, err := readAll(r, o.limit())
	return recording(w, name), named(name, err)
}

func (o ReadOptions) limit() int64 {
	if o.MaxBytes <= 0 {
		return usualLimit
	}
	return o.MaxBytes
}

// recording gives what was read a name; nil stays nil.
func recording(w *wav.File, name string) *Recording {
	if w == nil {
		return nil
	}
	return &Recording{name, w.SampleRate, Format(w.Format), w.Channels, w.LengthUnstated}
}

// named says which recording err is about.
func named(name string, err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("capture: %s: %w", name, err)
}

// opening explains why a file could not be opened.
func opening(path string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("capture: %s: %w; check the name and the folder", path, fs.ErrNotExist)
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("capture: %s: %w; make the file readable", path, fs.ErrPermission)
	}
	return fmt.Errorf("capture: %s: %w", path, err)
}

func gibibytes(n int64) float64 { return float64(n) / (1 << 30) }
