package wav

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"

	"example.com/earnest/internal/hugepage"
)

const (
	// pipeSize, rounded down to whole frames, is the length of the data that sox states when it
	// writes to a pipe.
	pipeSize = 0x7FFFF000
	// strayBytes is the largest number of bytes behind the last chunk: tags of fixed length, or the
	// padding of a disk sector.
	strayBytes = 1024
)

// Reader reads the samples of a WAV file, from any sample on.
type Reader struct {
	SampleRate, Channels int // Hz, and the number of channels
	Format               Format
	Len                  int    // samples of each channel in the file
	LengthUnstated       bool   // see File.LengthUnstated
	Settings             string // see File.Settings
	// Cut is a *TruncatedError for a file that ends before the length in its header.
	Cut error

	walk   *chunks
	header header
	at     int64 // offset of the samples in the file
}

// Open reads the header of a WAV file of size bytes. It skips chunks that it does not need. A
// header that leaves the length open is no error. An incomplete frame at the end is ignored.
func Open(r io.ReaderAt, size int64) (*Reader, error) {
	walk := &chunks{r: r, size: size}
	h, d, err := findData(walk)
	if err != nil {
		return nil, err
	}
	present := min(d.size, size-d.at)
	frames := present / int64(h.frame())
	if frames > math.MaxInt/8 {
		return nil, fault(ErrTooLarge, d.at, "%d samples are more than this machine can hold", frames)
	}
	f := &Reader{SampleRate: h.rate, Channels: h.channels, Format: h.format, Len: int(frames), LengthUnstated: d.unstated,
		walk: walk, header: h, at: d.at}
	if d.size > present {
		rate := float64(h.rate)
		f.Cut = &TruncatedError{float64(frames) / rate, float64(d.size/int64(h.frame())) / rate}
	} else if err := checkTail(walk); err != nil {
		return nil, err
	}
	if frames == 0 {
		if f.Cut != nil {
			return nil, f.Cut
		}
		return nil, fault(ErrEmpty, d.at, "the recording has no samples; record again")
	}
	f.Settings = walk.text
	return f, nil
}

// data is the position of the samples.
type data struct {
	at       int64 // bytes from the beginning of the file
	size     int64 // bytes stated; if not stated, those up to the end of the file
	unstated bool
}

// Read decodes a WAV file of size bytes.
//
// For a file that ends before the length in its header, Read returns both the samples that are
// there and a *TruncatedError. With any other error the File is nil. limit is the largest number of
// samples, of all channels together; more give ErrTooLarge, before memory is taken for them.
//
// It takes 8 bytes of memory for each sample in the file, and a block of 256 KiB per processor.
func Read(r io.ReaderAt, size, limit int64) (*File, error) {
	f, err := Open(r, size)
	if err != nil {
		return nil, err
	}
	if n := int64(f.Len); n > limit/int64(f.Channels) {
		return nil, TooLarge(n*int64(f.Channels), limit)
	}
	channels := make([][]float64, f.Channels)
	for c := range channels {
		channels[c] = hugepage.Make[float64](f.Len)
	}
	if err := f.Decode(channels, 0); err != nil {
		return nil, err
	}
	return &File{f.SampleRate, f.Format, channels, f.LengthUnstated, f.Settings}, f.Cut
}

// ReadAll decodes all of r, as Read does. It stops with ErrTooLarge after the largest number of
// bytes that limit samples can take, and after the first 12 bytes if they do not begin a WAV file.
func ReadAll(r io.Reader, limit int64) (*File, error) {
	var b bytes.Buffer
	if _, err := io.CopyN(&b, r, 12); err != nil && err != io.EOF {
		return nil, err
	}
	if _, err := identify(b.Bytes()); err != nil {
		return nil, err
	}
	most := MostBytes(limit)
	if _, err := b.ReadFrom(io.LimitReader(r, most-12+1)); err != nil {
		return nil, err
	}
	if int64(b.Len()) > most {
		return nil, fmt.Errorf("%w: more than the %d bytes that are read from a stream; cut the part that matters out of it",
			ErrTooLarge, most)
	}
	return Read(bytes.NewReader(b.Bytes()), int64(b.Len()), limit)
}

// MostBytes returns the largest length of a file of a number of samples: 8 bytes for each, and
// other contents.
func MostBytes(samples int64) int64 { return 8*samples + 1<<20 }

// findData reads the header, goes to the data chunk, and leaves walk behind it.
func findData(walk *chunks) (h header, d data, err error) {
	head := make([]byte, min(walk.size, 12))
	if err := walk.read(head, 0); err != nil {
		return h, d, err
	}
	wide, err := identify(head)
	if err != nil {
		return h, d, err
	}
	riffSize, dataSize := uint64(binary.LittleEndian.Uint32(head[4:])), uint64(math.MaxUint64)
	walk.pos = 12
	for {
		c, err := walk.next()
		if err == errEnd {
			return h, d, fault(ErrHeader, walk.size, "the file ends without a data chunk; it holds no recording")
		}
		if err != nil {
			return h, d, err
		}
		if c.id == "data" {
			if h.channels == 0 {
				return h, d, fault(ErrHeader, c.at-8, "no fmt chunk before the data; nothing says how to read the samples")
			}
			if wide && c.size == unstated && dataSize != math.MaxUint64 {
				c.size = int64(min(dataSize, math.MaxInt64-uint64(c.at)))
			}
			d = measure(c, riffSize, walk.size-c.at, int64(h.frame()))
			walk.skip(chunk{at: d.at, size: min(d.size, walk.size-d.at)})
			return h, d, nil
		}
		b, err := walk.contents(c, 40)
		if err != nil {
			return h, d, err
		}
		switch {
		case c.id == "fmt " && h.channels == 0:
			if h, err = parseHeader(b, c.at); err != nil {
				return h, d, err
			}
		case c.id == "ds64" && wide && len(b) >= 16:
			riffSize, dataSize = binary.LittleEndian.Uint64(b), binary.LittleEndian.Uint64(b[8:])
		}
	}
}

// measure returns the length of the data chunk c, of which present bytes are in the file. A length
// is open if its bits are all ones, and if it is the one that sox writes to pipes. A length of zero
// is also open, unless the RIFF header counts bytes beyond the chunk, so that zero is meant.
func measure(c chunk, riffSize uint64, present, frame int64) data {
	d := data{at: c.at, size: c.size}
	switch {
	case c.size == unstated:
		d.unstated = true
	case c.size == 0 && present > 0:
		d.unstated = riffSize == unstated || riffSize+8 <= uint64(c.at)
	case c.size == pipeSize-pipeSize%frame && present < c.size:
		d.unstated = true
	}
	if d.unstated {
		d.size = present
	}
	return d
}

// checkTail returns an error if more sound follows the data. A header can also state too short a
// length, for instance if a recorder passes 4 GiB and its count starts again from zero.
func checkTail(walk *chunks) error {
	for {
		from := walk.pos
		c, err := walk.next()
		switch {
		case err == errEnd:
			return nil
		case errors.Is(err, ErrHeader) && walk.size-from <= strayBytes:
			return nil
		case errors.Is(err, ErrHeader):
			return fault(ErrHeader, from,
				"%d bytes follow what the header accounts for; it states the wrong length: export the recording again",
				walk.size-from)
		case err != nil:
			return err
		case c.id == "data":
			return fault(ErrHeader, c.at-8, "a second data chunk follows the first; export the recording again")
		}
	}
}
