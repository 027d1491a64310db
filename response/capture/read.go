package capture

import (
	"bufio"
	"bytes"
	"io"
	"path/filepath"

	"example.com/earnest/internal/flac"
	"example.com/earnest/internal/regular"
	"example.com/earnest/internal/wav"
)

// usualLimit is the default of ReadConfig.MaxSamples: 23 minutes of two channels at 48 kHz, which
// take 1 GiB.
const usualLimit = 1 << 27

// ReadConfig says how Decode reads a recording. The zero value is the configuration of Read.
type ReadConfig struct {
	// MaxSamples is the largest number of samples that are read, of all channels together; 0 means
	// 2^27, which are 23 minutes of two channels at 48 kHz. Every sample takes 8 bytes of memory,
	// whatever its size in the file. A larger file is refused by its header, before memory is taken
	// for it; ReadBlocks reads any length.
	MaxSamples int64
}

// Read reads the WAV or FLAC file path. The first bytes of the file tell which of the two it is,
// not its name. An error says what is wrong, where, and what to do; see the variables Err… for the
// kinds.
//
// For a file that was cut short Read returns both the recording up to there and ErrTruncated, and
// the caller decides whether that is of use. With any other error the recording is nil. Programs
// that write to a pipe leave the length in the header open. That is no error: see
// Recording.LengthUnstated.
func Read(path string) (*Recording, error) {
	f, _, err := regular.Open(path)
	if err != nil {
		return nil, opening(path, err)
	}
	defer f.Close()
	w, err := decode(f, usualLimit)
	return recording(w, filepath.Base(path)), named(path, err)
}

// Decode reads a WAV or FLAC file from r. Its errors are those of Read; they use name as the name
// of the file. Decode holds the file in memory unless r is an io.ReaderAt and io.Seeker, such as an
// os.File or a bytes.Reader.
func Decode(r io.Reader, name string, c ReadConfig) (*Recording, error) {
	limit := c.MaxSamples
	if limit <= 0 {
		limit = usualLimit
	}
	w, err := decode(r, limit)
	return recording(w, name), named(name, err)
}

// decode decodes the rest of r, at most limit samples.
func decode(r io.Reader, limit int64) (*wav.File, error) {
	if rest := section(r); rest != nil {
		if flac.Detect(rest) {
			return flac.Decode(rest, rest.Size(), limit)
		}
		return wav.Read(rest, rest.Size(), limit)
	}
	b := bufio.NewReader(r)
	if start, _ := b.Peek(len(flac.Magic)); string(start) != flac.Magic {
		return wav.ReadAll(b, limit)
	}
	var all bytes.Buffer
	if _, err := all.ReadFrom(io.LimitReader(b, wav.MostBytes(limit)+1)); err != nil {
		return nil, err
	}
	if int64(all.Len()) > wav.MostBytes(limit) {
		return nil, wav.TooLarge(0, limit)
	}
	return flac.Decode(bytes.NewReader(all.Bytes()), int64(all.Len()), limit)
}

// section returns the rest of r and moves r to its end, if r can be read at any place and has a
// rest. Otherwise, as for a pipe, it returns nil and leaves r where it is.
func section(r io.Reader) *io.SectionReader {
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
	if err != nil || to <= from { // a device has no length
		_, _ = file.Seek(from, io.SeekStart)
		return nil
	}
	return io.NewSectionReader(file, from, to-from)
}

// recording returns the samples of w as a recording with a name, or nil if w is nil.
func recording(w *wav.File, name string) *Recording {
	if w == nil {
		return nil
	}
	return &Recording{name, w.SampleRate, Format(w.Format), w.Channels, w.LengthUnstated, w.Settings, 0}
}
