package capture

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"example.com/earnest/internal/flac"
	"example.com/earnest/internal/wav"
)

// usualLimit is the default of ReadConfig.MaxBytes: an hour and a half of two channels at 48 kHz in
// 32 bits.
const usualLimit = 2 << 30

// ReadConfig says how recordings are read. The zero value is what Read and Decode use.
type ReadConfig struct {
	// MaxBytes is the largest file that is read, and the largest WAV file that a FLAC file may
	// unpack to; 0 means 2 GiB. In memory every sample takes 8 bytes, whatever it takes in the
	// file.
	MaxBytes int64
}

// Read reads the WAV or FLAC file path. The first bytes of the file tell which of the two it is,
// not its name. An error says what is wrong, where, and what to do; see the variables Err… for the
// kinds.
//
// For a file that was cut short Read returns both what is there and a *TruncatedError, and the
// caller decides whether that is of use. With any other error the recording is nil. A header that
// leaves the length open, as programs write that write to a pipe, is no error: see
// Recording.LengthUnstated.
func Read(path string) (*Recording, error) {
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
		return nil, named(path, fmt.Errorf("a folder, %w; name a file in it", ErrNotWAV))
	case about.Size() > usualLimit:
		return nil, named(path, fmt.Errorf(
			"%w: %.2f GiB where %.2f GiB are read at once; cut the part that matters out of it, or set ReadConfig.MaxBytes",
			ErrTooLarge, gibibytes(about.Size()), gibibytes(usualLimit)))
	}
	w, err := decode(f, usualLimit)
	return recording(w, filepath.Base(path)), named(path, err)
}

// Decode reads a WAV or FLAC file from r, with the errors of Read, which call it name.
func Decode(r io.Reader, name string) (*Recording, error) { return ReadConfig{}.Decode(r, name) }

// Decode is like the function Decode but uses the configuration c. It holds the file in memory
// unless r is an io.ReaderAt and io.Seeker, as an os.File or a bytes.Reader is.
func (c ReadConfig) Decode(r io.Reader, name string) (*Recording, error) {
	limit := c.MaxBytes
	if limit <= 0 {
		limit = usualLimit
	}
	w, err := decode(r, limit)
	return recording(w, name), named(name, err)
}

// decode decodes the rest of r, of at most limit bytes.
func decode(r io.Reader, limit int64) (*wav.File, error) {
	if rest := section(r, limit); rest != nil {
		if flac.Detect(rest) {
			return flac.Decode(rest, rest.Size(), limit)
		}
		return wav.Read(rest, rest.Size())
	}
	b := bufio.NewReader(r)
	if start, _ := b.Peek(len(flac.Magic)); string(start) != flac.Magic {
		return wav.ReadAll(b, limit)
	}
	var all bytes.Buffer
	if _, err := all.ReadFrom(io.LimitReader(b, limit+1)); err != nil {
		return nil, err
	}
	if int64(all.Len()) > limit {
		return nil, wav.TooLarge(limit)
	}
	return flac.Decode(bytes.NewReader(all.Bytes()), int64(all.Len()), limit)
}

// section returns the rest of r and moves r to its end, if r can be read at any place and the rest
// has 1 to limit bytes. Otherwise, as for a pipe, it returns nil and leaves r where it is.
func section(r io.Reader, limit int64) *io.SectionReader {
	file, ok := r.(interface {
		io.ReaderAt
		io.Seeker
	})
	if !ok {
		return nil
	}
	from, err := file.Seek(0, io.SeekCurrent)
	if err != nil {
		return nil
	}
	to, err := file.Seek(0, io.SeekEnd)
	if err != nil || to <= from || to-from > limit { // a device has no length
		_, _ = file.Seek(from, io.SeekStart)
		return nil
	}
	return io.NewSectionReader(file, from, to-from)
}

// recording returns what was read under a name, or nil if nothing was.
func recording(w *wav.File, name string) *Recording {
	if w == nil {
		return nil
	}
	return &Recording{name, w.SampleRate, Format(w.Format), w.Channels, w.LengthUnstated}
}

func gibibytes(n int64) float64 { return float64(n) / (1 << 30) }
