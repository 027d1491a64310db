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
// limit is the most bytes that the samples may take in a WAV file; more is wav.ErrTooLarge.
// In memory a sample takes 8 bytes. A file of digital silence, which can unpack without bound, is
// refused as too large above 256 MiB and 64 bytes for each byte of the file.
func Decode(r io.ReaderAt, size, limit int64) (*wav.File, error) {
	info, at, err := readStreamInfo(r, size)
	if err != nil {
		return nil, err
	}
	s := newStream(r, size, at, info, limit)
	cut := s.frames()
	intact := s.digest.end(info.digest)
	var truncated *wav.TruncatedError
	switch {
	case cut != nil && !errors.As(cut, &truncated):
		return nil, cut
	case cut == nil && s.done == 0:
		return nil, fault(wav.ErrEmpty, at, "the recording has no samples; record again")
	case s.done == 0:
		return nil, cut
	case cut == nil && !intact:
		return nil, fault(ErrChecksum, at, "the samples are not those that were stored, by the checksum over all of them; copy the file again from where it was recorded")
	}
	format := wav.Format{Bits: (info.bits + 7) / 8 * 8, ValidBits: info.bits}
	return &wav.File{SampleRate: info.rate, Format: format, Channels: s.channels, LengthUnstated: info.total == 0}, cut
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
			return info, 0, fault(wav.ErrHeader, at, "the file does not begin with what was recorded (a STREAMINFO block of 34 bytes); it is damaged")
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
	info.longest = int(binary.BigEndian.Uint16(b[2:])) // the least comes before it; the least and most bytes of a frame follow
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
		return info, fault(wav.ErrHeader, at+12, "the header says %d bits a sample where 4 are the least; the file is damaged", info.bits)
	}
	return info, nil
}
