package flac

import (
	"crypto/md5"
	"errors"
	"io"
	"math"

	"example.com/earnest/internal/hugepage"
	"example.com/earnest/internal/wav"
)

// pieceBytes is the number of bytes of a file that are read at a time: about ten frames of two
// channels.
const pieceBytes = 256 << 10

// memorySamples is half the number of samples that fit into the memory that an int can address.
const memorySamples = math.MaxInt / 2 / 8

// stream decodes the frames of a FLAC file one after another and reports what is wrong with it.
type stream struct {
	info     streamInfo
	limit    int64 // most samples of all channels
	piece    filePiece
	frame    frameDecoder
	channels [][]float64 // each holds done samples less those dropped, and room for more
	at       int64       // byte of the file at which the next frame begins
	done     int64       // samples of each channel decoded
	dropped  int64       // samples of each channel that are no longer in memory
	windowed bool        // samples are dropped, so that no memory is taken for all
	count    int64       // frames decoded
	first    frameHeader // of the first frame; its number is above 0 in a piece of a stream
	digest   *digest
}

func newStream(r io.ReaderAt, size, at int64, info streamInfo) *stream {
	s := &stream{info: info, limit: memorySamples, at: at, channels: make([][]float64, info.channels)}
	s.piece = filePiece{r: r, size: size}
	s.frame = newFrameDecoder(&s.info)
	if info.digest != [md5.Size]byte{} {
		s.digest = newDigest(info.bits)
	}
	return s
}

// frames decodes all frames. The error is a *wav.TruncatedError if the file ends too early.
func (s *stream) frames() error {
	defer func() {
		for c, x := range s.channels {
			s.channels[c] = x[:s.done:s.done]
		}
	}()
	for s.info.total == 0 || s.done < s.info.total {
		if more, err := s.next(); err != nil || !more {
			return err
		}
	}
	return s.checkEnd()
}

// next decodes the next frame, reading as much of the file as it takes, and reports whether there
// was one.
func (s *stream) next() (more bool, err error) {
	for n := int64(pieceBytes); ; n *= 2 {
		if n > pieceBytes || s.at+largestFrame(&s.info, s.first.block) > s.piece.end() && !s.piece.last() {
			if err := s.piece.load(s.at, n); err != nil {
				return false, err
			}
		}
		more, err = s.decode()
		if !s.frame.r.short || s.piece.last() {
			return more, err
		}
	}
}

// decode decodes the next frame from the piece of the file that is in memory.
func (s *stream) decode() (more bool, err error) {
	left := s.piece.size - s.at
	if left == 0 && s.info.total == 0 {
		return false, nil
	}
	start := int(s.at - s.piece.from)
	s.frame.r.b = s.piece.b
	h, err := s.frame.header(start)
	if s.info.total == 0 && s.done > 0 && errors.Is(err, errNoFrame) && left <= tagBytes {
		return false, nil
	}
	if err == nil {
		err = s.keep(h, start)
	}
	switch short := s.frame.r.short; {
	case short && left <= largestFrame(&s.info, h.block): // the end is cut off: report that, not a misread frame
		return false, s.truncated(h)
	case short || errors.Is(err, errNoFrame):
		return false, s.damaged()
	case errors.Is(err, errOtherFormat):
		return false, s.changed(h)
	case err != nil:
		return false, err
	}
	s.at = s.piece.from + int64(s.frame.r.offset())
	s.done += int64(h.block)
	s.count++
	return true, nil
}

// keep decodes the samples of the frame with header h, which begins at byte start of the piece, and
// appends them to the channels.
func (s *stream) keep(h frameHeader, start int) error {
	if err := s.follows(h); err != nil {
		return err
	}
	if err := s.affordable(h); err != nil {
		return err
	}
	s.reserve(h.block)
	if !s.frame.samples(h, start, s.channels, s.held()) {
		return s.damaged()
	}
	s.digest.add(s.channels, s.held(), s.held()+h.block)
	return nil
}

// reserve makes room for n further samples in each channel. Before the first frame it makes room
// for as many as the file seems to have.
func (s *stream) reserve(n int) {
	if s.done == 0 && !s.windowed {
		n = max(n, s.likely())
	}
	held := s.held()
	for c, x := range s.channels {
		if len(x)-held < n {
			s.channels[c] = hugepage.Make[float64](max(held+n, len(x)/4*5))
			copy(s.channels[c], x[:held])
		}
	}
}

// held returns the number of samples of each channel in memory.
func (s *stream) held() int { return int(s.done - s.dropped) }

// drop drops the samples before sample from, and makes room for n from there on and one more frame.
func (s *stream) drop(from, n int) {
	s.windowed = true
	s.digest.wait()
	held, first := s.held(), from-int(s.dropped)
	for _, x := range s.channels {
		copy(x, x[min(first, len(x)):min(held, len(x))])
	}
	s.dropped = int64(from)
	s.reserve(max(0, n-s.held()) + 1<<16)
}

// likely returns the number of samples of each channel for which there is room at once: the number
// in the header or the last frame, but no more than the bits in the file, since most files have at
// least one bit for each sample.
func (s *stream) likely() int {
	total, channels := s.info.total, int64(s.info.channels)
	if total == 0 {
		total = s.totalByLastFrame()
	}
	return int(min(total, 8*s.piece.size/channels, s.limit/channels, memorySamples/channels))
}

// totalByLastFrame returns the number of samples of each channel up to the end of the last frame,
// for a header that leaves it open, or 0 if it finds no frame near the end of the file.
func (s *stream) totalByLastFrame() (total int64) {
	tail := filePiece{r: s.piece.r, size: s.piece.size}
	reach := tagBytes + 2*largestFrame(&s.info, max(s.first.block, s.info.longest))
	if tail.load(max(tail.size-reach, 0), reach) != nil {
		return 0
	}
	for start := range tail.b {
		h, err := readHeader(&bitReader{b: tail.b, pos: start}, &s.info)
		if err == nil && h.variable == s.first.variable {
			total = s.samplesBefore(h) + int64(h.block)
		}
	}
	return max(total, 0)
}

// samplesBefore returns how many samples of each channel lie between the first frame and the one
// with header h, by its number.
func (s *stream) samplesBefore(h frameHeader) int64 {
	n := h.number - s.first.number
	if !h.variable {
		n *= int64(s.first.block)
	}
	return n
}

// follows returns an error if frames are missing between the last one and the one with header h.
func (s *stream) follows(h frameHeader) error {
	if s.count == 0 {
		s.first = h
	}
	before := s.done
	if !h.variable {
		before = s.count * int64(s.first.block)
	}
	if gap := s.samplesBefore(h) - before; gap != 0 {
		return s.fault(wav.ErrHeader,
			"at %.3f s the recording jumps by %+.3f s: frames are missing or out of order; "+
				"copy it again from the recorder",
			s.time(), float64(gap)/float64(s.info.rate))
	}
	return nil
}

// affordable returns an error if the frame with header h makes the samples take too much memory.
func (s *stream) affordable(h frameHeader) error {
	samples := (s.done + int64(h.block)) * int64(s.info.channels)
	switch {
	case samples > s.limit:
		return wav.TooLarge(0, s.limit)
	case 8*samples > silentBytes+silentRatio*s.piece.size:
		return s.fault(wav.ErrTooLarge,
			"%.0f s in so small a file are digital silence; cut the part that matters out of it, or export it as WAV",
			s.time())
	}
	return nil
}

// checkEnd returns an error if more sound follows the last sample that the header promises.
func (s *stream) checkEnd() error {
	if s.done > s.info.total {
		return s.fault(wav.ErrHeader, "%d samples where the header states %d; export the recording again", s.done,
			s.info.total)
	}
	if err := s.piece.load(s.at, 64); err != nil {
		return err
	}
	s.frame.r.b = s.piece.b
	if _, err := s.frame.header(0); err == nil {
		return s.fault(wav.ErrHeader, "sound follows the %.3f s that the header states; export the recording again",
			s.time())
	}
	return nil
}

// truncated returns the error of a file that ends inside the frame with header h, or before it.
func (s *stream) truncated(h frameHeader) error {
	promised := s.info.total
	if promised == 0 {
		promised = s.done + int64(max(h.block, 1)) // the header leaves the length open, but a frame has begun
	}
	rate := float64(s.info.rate)
	return &wav.TruncatedError{Present: float64(s.done) / rate, Promised: float64(promised) / rate}
}

func (s *stream) damaged() error {
	return s.fault(ErrChecksum, "the file is damaged at %.3f s; copy it again from the recorder", s.time())
}

func (s *stream) changed(h frameHeader) error {
	return s.fault(wav.ErrUnsupported,
		"at %.3f s it changes to %d channels of %d bits at %d Hz; export the recording again, in one format",
		s.time(), h.channels(), h.bits, h.rate)
}

// fault returns an error at the beginning of the next frame.
func (s *stream) fault(kind error, format string, a ...any) error {
	return fault(kind, s.at, format, a...)
}

func (s *stream) time() float64 { return float64(s.done) / float64(s.info.rate) }

// largestFrame returns the largest number of bytes in a frame of block samples: samples that do not
// compress are stored unchanged.
func largestFrame(info *streamInfo, block int) int64 {
	return 64 + int64(info.channels)*(8+int64(block)*int64(info.bits+1)/8)
}
