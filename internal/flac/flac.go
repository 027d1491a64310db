// Package flac decodes FLAC files, RFC 9639. The available library refuses files of 32 bits and
// prints a line for every frame at some sample rates. The tests compare this package with it, and
// with sox, ffmpeg and flac.
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

// ErrChecksum means that the contents of a file do not match their checksum: the file was damaged
// after it was recorded. The other errors are those of package wav.
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

// Reader decodes the samples of a FLAC file from its beginning to its end.
type Reader struct {
	SampleRate, Channels int // Hz, and the number of channels
	Format               wav.Format
	LengthUnstated       bool // see wav.File.LengthUnstated
	// Cut is a *wav.TruncatedError once the end of a truncated file was reached.
	Cut error

	stream *stream
	ended  bool
}

// Open reads the header of a FLAC file of size bytes. The caller has to call Close in the end.
func Open(r io.ReaderAt, size int64) (*Reader, error) {
	info, at, err := readStreamInfo(r, size)
	if err != nil {
		return nil, err
	}
	format := wav.Format{Bits: (info.bits + 7) / 8 * 8, ValidBits: info.bits}
	return &Reader{SampleRate: info.rate, Channels: info.channels, Format: format, LengthUnstated: info.total == 0,
		stream: newStream(r, size, at, info)}, nil
}

// Close ends the computation of the checksum.
func (f *Reader) Close() { f.stream.digest.end() }

// Window returns the n samples of each channel from sample from on. It returns fewer only at the
// end of the file, which last reports. The windows must not go back. They share their memory: one
// is valid until the next is requested. The errors are those of Decode, without the limit.
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

// finish takes the error that ended the frames. It returns the *wav.TruncatedError of a file that
// is cut short, or the error of the file as a whole.
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
			"the samples do not match the checksum over all of them; "+
				"copy the file again from the recorder")
	}
	return end, nil
}

// streamInfo is the contents of the first metadata block, RFC 9639 section 8.2.
type streamInfo struct {
	longest              int // largest number of samples of each channel in a frame
	rate, channels, bits int
	total                int64          // samples of each channel; 0 if not known
	digest               [md5.Size]byte // of all samples; 0 if not known
}

// Detect reports whether r begins like a FLAC file.
func Detect(r io.ReaderAt) bool {
	var start [len(Magic)]byte
	n, _ := r.ReadAt(start[:], 0)
	return string(start[:n]) == Magic
}

// Decode decodes a FLAC file of size bytes. Like wav.Read it returns both the whole frames that are
// there and a *wav.TruncatedError for a file that is cut short. Every frame has a checksum, and so
// have the samples as a whole: the error is ErrChecksum if one does not match.
//
// limit is the largest number of samples, of all channels together. More samples give
// wav.ErrTooLarge, before memory is taken if the header states their number. In memory a sample
// takes 8 bytes. A file of digital silence, which can unpack without bound, is refused as too large
// above 256 MiB and 64 bytes for each byte of the file.
func Decode(r io.ReaderAt, size, limit int64) (*wav.File, error) {
	f, err := Open(r, size)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	s := f.stream
	s.limit = min(limit, memorySamples)
	if total := s.info.total * int64(s.info.channels); total > limit && 8*size > limit { // possible if each sample takes a bit
		return nil, wav.TooLarge(total, limit)
	}
	cut, err := f.finish(s.frames())
	if err != nil {
		return nil, err
	}
	return &wav.File{SampleRate: f.SampleRate, Format: f.Format, Channels: s.channels, LengthUnstated: f.LengthUnstated},
		cut
}

func fault(kind error, offset int64, format string, a ...any) error {
	return &wav.FormatError{Offset: offset, What: fmt.Sprintf(format, a...), Err: kind}
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
				"the file does not begin with a STREAMINFO block of 34 bytes; it is damaged, copy it again")
		case kind == 127:
			return info, 0, fault(wav.ErrHeader, at, "metadata of a forbidden kind; the file is damaged, copy it again")
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

// parseInfo reads the STREAMINFO block b, which begins at offset at.
func parseInfo(b []byte, at int64) (info streamInfo, err error) {
	// the least block size comes before it; the least and largest frame size follow
	info.longest = int(binary.BigEndian.Uint16(b[2:]))
	r := bitReader{b: b[10:18]}
	info.rate = int(r.read(20))
	info.channels = int(r.read(3)) + 1
	info.bits = int(r.read(5)) + 1
	info.total = int64(r.read(36))
	copy(info.digest[:], b[18:])
	switch {
	case info.rate == 0:
		return info, fault(wav.ErrHeader, at+10, "the header states a sample rate of 0 Hz; export the recording again")
	case info.bits < 4:
		return info, fault(wav.ErrHeader, at+12,
			"the header states %d bits a sample, and FLAC has at least 4; the file is damaged, copy it again", info.bits)
	}
	return info, nil
}
