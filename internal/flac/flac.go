// Package flac decodes FLAC files, RFC 9639. The library at hand refuses files of 32 bits and
// prints a line for every frame at some sample rates; the tests hold this package against it, and
// against what sox, ffmpeg and flac decode.
package flac

import (
	"bufio"
	"crypto/md5"
	"encoding/binary"
	"errors"
	"fmt"
	"io"

	"example.com/earnest/internal/wav"
)

// ErrChecksum says that the contents of a file do not have the checksum stored with them: the file
// was damaged after it was recorded. The other errors are those of package wav.
var ErrChecksum = errors.New("a checksum does not match")

const (
	// Magic is the first four bytes of every FLAC file.
	Magic = "fLaC"

	// Decoded samples may take silentBytes of memory, and silentRatio bytes more for each byte of
	// the file. A sample takes 8 bytes in memory and, because recordings contain noise, some bits
	// at least in the file. Only digital silence exceeds the ratio, without bound.
	silentBytes = 256 << 20
	silentRatio = 64

	// infoBytes is the length of a STREAMINFO block.
	infoBytes = 34

	// tagBytes is the length of the tags that may follow the last frame.
	tagBytes = 1024
)

// Detect reports whether r begins as a FLAC file does.
func Detect(r io.ReaderAt) bool {
	var start [len(Magic)]byte
	n, _ := r.ReadAt(start[:], 0)
	return string(start[:n]) == Magic
}

// Decode decodes a FLAC file of size bytes. Like wav.Read it returns both the whole frames that are
// there and a *wav.TruncatedError for a file that is cut short. Every frame has a checksum, and so
// have the samples as a whole: the error is ErrChecksum where one does not match.
//
// limit is the most samples, of all channels together; more is wav.ErrTooLarge, before memory is
// taken where the header says how many there are. In memory a sample takes 8 bytes. A file of
// digital silence, which can unpack without bound, is refused as too large above 256 MiB and 64
// bytes for each byte of the file.
func Decode(r io.ReaderAt, size, limit int64) (*wav.File, error) {
	f, err := Open(r, size)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	s := f.stream
	s.limit = min(limit, memorySamples)
	if total := s.info.total * int64(s.info.channels); total > limit && 8*size > limit { // with a bit for each it can be so
		return nil, wav.TooLarge(total, limit)
	}
	cut, err := f.finish(s.frames())
	if err != nil {
		return nil, err
	}
	return &wav.File{SampleRate: f.SampleRate, Format: f.Format, Channels: s.channels, LengthUnstated: f.LengthUnstated},
		cut
}

// Reader decodes the samples of a FLAC file from its beginning to its end.
type Reader struct {
	SampleRate, Channels int // Hz, and how many channels there are
	Format               wav.Format
	LengthUnstated       bool // see wav.File.LengthUnstated
	// Cut is a *wav.TruncatedError, once the end of a file was reached that is cut short.
	Cut error

	stream *stream
	ended  bool
}

// Open reads the header of a FLAC file of size bytes. Close has to be called in the end.
func Open(r io.ReaderAt, size int64) (*Reader, error) {
	info, at, err := readStreamInfo(r, size)
	if err != nil {
		return nil, err
	}
	format := wav.Format{Bits: (info.bits + 7) / 8 * 8, ValidBits: info.bits}
	return &Reader{SampleRate: info.rate, Channels: info.channels, Format: format, LengthUnstated: info.total == 0,
		stream: newStream(r, size, at, info)}, nil
}

// Close lets go of the checksum that is under way.
func (f *Reader) Close() { f.stream.digest.end() }

// Window returns the n samples of each channel from sample from on, and fewer only where the file
// ends, which last reports. The windows must not go back. They share their memory: one holds until
// the next is asked for. The errors are those of Decode, but for the limit.
func (f *Reader) Window(from, n int) (channels [][]float64, last bool, err error) {
	s := f.stream
	s.drop(from, n)
	for !f.ended && s.held() < n {
		more, err := s.next()
		if err == nil && more && (s.info.total == 0 || s.done < s.info.total) {
			continue
		}
		if err == nil && s.info.total > 0 {
			err = s.checkEnd()
		}
		f.ended = true
		if f.Cut, err = f.finish(err); err != nil {
			return nil, false, err
		}
	}
	channels = make([][]float64, len(s.channels))
	for c, x := range s.channels {
		channels[c] = x[:min(n, s.held())]
	}
	return channels, f.ended && s.held() <= n, nil
}

// finish takes what ended the frames, and returns the *wav.TruncatedError of a file that is cut
// short, or what else is wrong with it as a whole.
func (f *Reader) finish(end error) (cut, err error) {
	s := f.stream
	intact := s.digest.end() == s.info.digest
	var truncated *wav.TruncatedError
	switch {
	case end != nil && (!errors.As(end, &truncated) || s.done == 0):
		return nil, end
	case s.done == 0:
		return nil, fault(wav.ErrEmpty, s.at, "the recording has no samples; record again")
	case end == nil && s.digest != nil && !intact:
		return nil, fault(ErrChecksum, s.at,
			"the samples are not those that were stored, by the checksum over all of them; "+
				"copy the file again from where it was recorded")
	}
	return end, nil
}

func fault(kind error, offset int64, format string, a ...any) error {
	return &wav.FormatError{Offset: offset, What: fmt.Sprintf(format, a...), Err: kind}
}

// streamInfo is the contents of the first metadata block, RFC 9639 section 8.2.
type streamInfo struct {
	longest              int // most samples of each channel in a frame
	rate, channels, bits int
	total                int64          // samples of each channel; 0 if not known
	digest               [md5.Size]byte // of all samples; 0 if not known
}

// readStreamInfo reads the first metadata block, skips the others, and returns the byte at which
// the first frame begins.
func readStreamInfo(r io.ReaderAt, size int64) (info streamInfo, at int64, err error) {
	b := bufio.NewReader(io.NewSectionReader(r, 0, size))
	if _, err := b.Discard(len(Magic)); err != nil {
		return info, 0, cutHeader(err, size)
	}
	at = int64(len(Magic))
	for first, last := true, false; !last; first = false {
		var head [4]byte
		if _, err := io.ReadFull(b, head[:]); err != nil {
			return info, 0, cutHeader(err, size)
		}
		kind, length := head[0]&0x7F, int(head[1])<<16|int(head[2])<<8|int(head[3])
		last = head[0]&0x80 != 0
		switch {
		case first && (kind != 0 || length < infoBytes):
			return info, 0, fault(wav.ErrHeader, at,
				"the file does not begin with what was recorded (a STREAMINFO block of 34 bytes); it is damaged")
		case kind == 127:
			return info, 0, fault(wav.ErrHeader, at, "metadata of a kind that is forbidden; the file is damaged")
		}
		var body []byte
		if first {
			body, _ = b.Peek(infoBytes)
		}
		if _, err := b.Discard(length); err != nil {
			return info, 0, cutHeader(err, size)
		}
		if first {
			if info, err = parseInfo(body, at+4); err != nil {
				return info, 0, err
			}
		}
		at += 4 + int64(length)
	}
	return info, at, nil
}

// cutHeader returns the error for a file of size bytes that ends inside its header, or err if the
// file could not be read.
func cutHeader(err error, size int64) error {
	if err != io.EOF && err != io.ErrUnexpectedEOF {
		return err
	}
	return fault(wav.ErrTruncated, size, "the file ends inside its header; copy or record it again")
}

// parseInfo reads the STREAMINFO block b, which stands at offset at.
func parseInfo(b []byte, at int64) (info streamInfo, err error) {
	// the least comes before it; the least and most bytes of a frame follow
	info.longest = int(binary.BigEndian.Uint16(b[2:]))
	r := bitReader{b: b[10:18]}
	info.rate = int(r.read(20))
	info.channels = int(r.read(3)) + 1
	info.bits = int(r.read(5)) + 1
	info.total = int64(r.read(36))
	copy(info.digest[:], b[18:])
	switch {
	case info.rate == 0:
		return info, fault(wav.ErrHeader, at+10, "the header says a sample rate of 0 Hz; export the recording again")
	case info.bits < 4:
		return info, fault(wav.ErrHeader, at+12,
			"the header says %d bits a sample where 4 are the least; the file is damaged", info.bits)
	}
	return info, nil
}
