package flac

import (
	"crypto/md5"
	"errors"
	"io"
	"math"

	"example.com/earnest/internal/hugepage"
	"example.com/earnest/internal/wav"
)

// pieceBytes is how much of a FLAC file is read at a time: some ten frames of two channels.
const pieceBytes = 256 << 10

// memorySamples is how many samples fit the memory that an int can address, with room for a copy.
const memorySamples = math.MaxInt / 2 / 8

// stream decodes the frames of a FLAC file, one after another, and says what is wrong with it. What was decoded ahead it
// takes over where it comes to it.
type stream struct {
	info     streamInfo
	limit    int64
	piece    filePiece
	frame    frameDecoder
	channels [][]float64 // done samples each, and room
	at       int64       // byte of the file that the next frame begins at
	done     int64       // samples of each channel decoded
	count    int64       // frames decoded
	first    frameHeader // of the first frame: its number is more than 0 in a piece of a stream, and by its length the number of a frame becomes that of a sample
	digest   *soundDigest
	ahead    *ahead // nil before the first frame
}

func newStream(r io.ReaderAt, size, at int64, info streamInfo, limit int64) *stream {
	s := &stream{info: info, limit: limit, at: at, channels: make([][]float64, info.channels)}
	s.piece = filePiece{r: r, size: size}
	s.frame = newFrameDecoder(&s.info)
	if info.digest != [md5.Size]byte{} {
		s.digest = newSoundDigest(info.bits)
	}
	return s
}

// frames decodes all of them, step bytes ahead at a time. The error is a *wav.TruncatedError where the file ends too early.
func (s *stream) frames(step int64) error {
	defer func() {
		s.ahead.end()
		for c, x := range s.channels {
			s.channels[c] = x[:s.done:s.done]
		}
	}()
	for s.info.total == 0 || s.done < s.info.total {
		if s.takeAhead() {
			continue
		}
		if more, err := s.next(); err != nil || !more {
			return err
		}
		if s.count == 1 {
			s.startAhead(step)
		}
	}
	return s.checkEnd()
}

// next decodes the frame at hand, from as large a piece of the file as that takes, and reports whether there was one.
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

// decode decodes the frame at hand from the piece at hand.
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
	case short && left <= largestFrame(&s.info, h.block): // what was misread at the end is not worth saying
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

// keep decodes the samples that follow header h, whose frame began at byte start of the piece, and adds them to the channels.
func (s *stream) keep(h frameHeader, start int) error {
	if err := s.follows(h); err != nil {
		return err
	}
	if err := s.affordable(h); err != nil {
		return err
	}
	s.reserve(h.block)
	if !s.frame.samples(h, start, s.channels, int(s.done)) {
		return s.damaged()
	}
	s.digest.add(s.channels, int(s.done), int(s.done)+h.block)
	return nil
}

// reserve makes room for n further samples in each channel; the first time, for as many as the file seems to have.
func (s *stream) reserve(n int) {
	s.ahead.wait(s.done + int64(n))
	if s.done == 0 {
		n = max(n, s.likely(s.info.total))
	}
	for c, x := range s.channels {
		if len(x)-int(s.done) < n {
			s.channels[c] = hugepage.Make[float64](max(int(s.done)+n, len(x)/4*5)) // growing would touch all of it here, on one processor
			copy(s.channels[c], x[:s.done])
		}
	}
}

// likely is how many of the promised samples of each channel are given room at once: a header may promise anything, but few
// files have less than a bit for a sample.
func (s *stream) likely(promised int64) int {
	channels := int64(s.info.channels)
	return int(min(promised, 8*s.piece.size/channels, s.limit/(channels*sampleBytes(&s.info)), memorySamples/channels))
}

// largestFrame is more than a frame of so many samples takes, for one that does not compress is stored as it is.
func largestFrame(info *streamInfo, block int) int64 {
	return 64 + int64(info.channels)*(8+int64(block)*int64(info.bits+1)/8)
}

// sampleBytes is what a sample takes in a WAV file, and in the checksum over all of them.
func sampleBytes(info *streamInfo) int64 { return int64(info.bits+7) / 8 }

// follows makes sure that no frame is missing before this one, by its number.
func (s *stream) follows(h frameHeader) error {
	number := s.count
	if h.variable {
		number = s.done
	}
	if s.count == 0 {
		s.first = h
	}
	gap := h.number - s.first.number - number
	if !h.variable {
		gap *= int64(s.first.block)
	}
	if gap != 0 {
		return s.fault(wav.ErrHeader, "at %.3f s the recording jumps by %+.3f s: frames are missing or out of order; copy it again from where it was recorded",
			s.time(), float64(gap)/float64(s.info.rate))
	}
	return nil
}

// affordable makes sure that h does not bring the samples beyond what they may take.
func (s *stream) affordable(h frameHeader) error {
	samples := (s.done + int64(h.block)) * int64(s.info.channels)
	switch {
	case samples*sampleBytes(&s.info) > s.limit:
		return wav.TooLarge(s.limit)
	case samples > memorySamples:
		return s.fault(wav.ErrTooLarge, "%d samples are more than this machine can hold", samples)
	case 8*samples > silentBytes+silentRatio*s.piece.size:
		return s.fault(wav.ErrTooLarge, "%.0f s of sound in so small a file are digital silence; cut the part that matters out of it, or export it as WAV", s.time())
	}
	return nil
}

// checkEnd makes sure that what follows the last sample promised is no further sound.
func (s *stream) checkEnd() error {
	if s.done > s.info.total {
		return s.fault(wav.ErrHeader, "%d samples where the header says %d; export the recording again", s.done, s.info.total)
	}
	if err := s.piece.load(s.at, 64); err != nil {
		return err
	}
	s.frame.r.b = s.piece.b
	if _, err := s.frame.header(0); err == nil {
		return s.fault(wav.ErrHeader, "sound follows the %.3f s that the header accounts for; export the recording again", s.time())
	}
	return nil
}

// truncated is the error of a file that ends in frame h, or before it.
func (s *stream) truncated(h frameHeader) error {
	promised := s.info.total
	if promised == 0 {
		promised = s.done + int64(max(h.block, 1)) // the header left it open, but the frame was begun
	}
	rate := float64(s.info.rate)
	return &wav.TruncatedError{Present: float64(s.done) / rate, Promised: float64(promised) / rate}
}

func (s *stream) damaged() error {
	return s.fault(ErrChecksum, "the file is damaged at %.3f s; copy it again from where it was recorded", s.time())
}

func (s *stream) changed(h frameHeader) error {
	return s.fault(wav.ErrUnsupported, "at %.3f s it changes to %d channels of %d bits at %d Hz; export the recording again, in one format",
		s.time(), h.channels(), h.bits, h.rate)
}

// fault is an error at the frame at hand.
func (s *stream) fault(kind error, format string, a ...any) error {
	return fault(kind, s.at, format, a...)
}

func (s *stream) time() float64 { return float64(s.done) / float64(s.info.rate) }
