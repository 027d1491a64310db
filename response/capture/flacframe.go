package capture

import (
	"crypto/md5"
	"errors"
	"hash"
	"math"
	"slices"
)

// flacStream decodes the frames of a FLAC file, one after another.
type flacStream struct {
	info     streamInfo
	limit    int64
	r        bitReader
	channels [][]float64
	done     int64 // samples of each channel decoded
	count    int64 // frames decoded
	shift    int64 // number of the first frame, or sample: more than 0 in a piece of a stream
	block    int64 // samples in the first frame, by which the number of a frame becomes that of a sample
	hash     hash.Hash
	bytes    []byte    // of a frame, as the checksum takes them
	work     [][]int64 // a frame's samples
}

func newFLACStream(b []byte, at int, info streamInfo, limit int64) *flacStream {
	s := &flacStream{info: info, limit: limit, r: bitReader{b: b, pos: at}, hash: md5.New()}
	s.channels, s.work = make([][]float64, info.channels), make([][]int64, info.channels)
	likely := min(info.total, 4*int64(len(b))/int64(info.channels)) // by the file, for the header may promise anything
	for c := range s.channels {
		s.channels[c] = make([]float64, 0, likely)
	}
	return s
}

// errCut says that the file ends inside a frame.
var errCut = errors.New("ends inside a frame")

// frames decodes all of them. The error is a *TruncatedError where the file ends too early.
func (s *flacStream) frames() error {
	for s.info.total == 0 || s.done < s.info.total {
		start := s.r.offset()
		left := len(s.r.b) - start
		if left == 0 && s.info.total == 0 {
			return nil
		}
		h, err := s.header()
		if s.info.total == 0 && s.done > 0 && errors.Is(err, errNoFrame) && left <= tagBytes {
			return nil
		}
		if err == nil {
			err = s.frame(h, start)
		}
		switch {
		case s.r.short && left <= s.largest(h): // what was misread at the end is not worth saying
			return s.truncated(h)
		case s.r.short || errors.Is(err, errNoFrame):
			return s.damaged(start)
		case err != nil:
			return err
		}
		s.done += int64(h.block)
		s.count++
	}
	return s.checkEnd()
}

// largest is more than any frame of this header takes, for a frame that does not compress is stored as it is.
func (s *flacStream) largest(h frameHeader) int {
	return 64 + s.info.channels*(8+h.block*(s.info.bits+1)/8)
}

// truncated is the error of a file that ends in frame h, or before it.
func (s *flacStream) truncated(h frameHeader) error {
	promised := s.info.total
	if promised == 0 {
		promised = s.done + int64(max(h.block, 1)) // the header left it open, but the frame was begun
	}
	rate := float64(s.info.rate)
	return &TruncatedError{Present: float64(s.done) / rate, Promised: float64(promised) / rate}
}

func (s *flacStream) damaged(at int) error {
	return flacFault(ErrChecksum, int64(at), "the file is damaged at %.3f s; copy it again from where it was recorded", s.time())
}

func (s *flacStream) time() float64 { return float64(s.done) / float64(s.info.rate) }

// checkEnd makes sure that what follows the last sample promised is no further sound.
func (s *flacStream) checkEnd() error {
	at := s.r.offset()
	if s.done > s.info.total {
		return flacFault(ErrHeader, int64(at), "%d samples where the header says %d; export the recording again", s.done, s.info.total)
	}
	if _, err := s.header(); err == nil {
		return flacFault(ErrHeader, int64(at), "sound follows the %.3f s that the header accounts for; export the recording again", s.time())
	}
	return nil
}

// frameHeader is what stands before each frame, RFC 9639 section 9.1.
type frameHeader struct {
	block    int // samples of each channel
	variable bool
	coding   int   // 0–7: independent channels, one more than this; 8–10: left and side, side and right, middle and side
	number   int64 // of the frame, or of its first sample
}

// The samples in a block, by their code; those of 6 and 7 stand in bytes of their own.
var flacBlocks = [16]int{1: 192, 576, 1152, 2304, 4608, 8: 256, 512, 1024, 2048, 4096, 8192, 16384, 32768}

// The sample rates by their code; 0 is that of the stream, those of 12 to 14 stand in bytes of their own, 15 is forbidden.
var flacRates = [16]int{15: -1, 1: 88200, 176400, 192000, 8000, 16000, 22050, 24000, 32000, 44100, 48000, 96000}

// The bits of a sample by their code; 0 is that of the stream, 3 is reserved.
var flacBits = [8]int{1: 8, 12, -1, 16, 20, 24, 32}

var errNoFrame = errors.New("no frame begins here")

// header reads a frame's header. The error is errNoFrame where there is none, and otherwise says what is wrong.
func (s *flacStream) header() (h frameHeader, err error) {
	start := s.r.offset()
	r := &s.r
	if r.read(15) != 0x7FFC && !r.short { // 14 bits to find it by, and a reserved one
		return h, errNoFrame
	}
	h.variable = r.read(1) == 1
	block, rate := r.read(4), r.read(4)
	h.coding = int(r.read(4))
	width, reserved := flacBits[r.read(3)], r.read(1)
	h.number = codedNumber(r)
	h.block = readBlock(r, block)
	hertz := readRate(r, rate)
	end := r.offset()
	switch sum := uint8(r.read(8)); {
	case r.short:
		return h, errCut
	case h.number < 0 || h.block == 0 || h.coding > 10 || reserved != 0 || sum != crc8(r.b[start:end]):
		return h, errNoFrame
	}
	if hertz == 0 {
		hertz = s.info.rate
	}
	if width == 0 {
		width = s.info.bits
	}
	if hertz != s.info.rate || width != s.info.bits || h.channels() != s.info.channels {
		return h, flacFault(ErrUnsupported, int64(start),
			"at %.3f s it changes to %d channels of %d bits at %d Hz; export the recording again, in one format", s.time(), h.channels(), width, hertz)
	}
	return h, nil
}

// readBlock returns the samples in a block by their code, or from the bytes that it announces.
func readBlock(r *bitReader, code uint64) int {
	switch code {
	case 6:
		return int(r.read(8)) + 1
	case 7:
		return int(r.read(16)) + 1
	}
	return flacBlocks[code]
}

// readRate returns the sample rate by its code, or from the bytes that it announces; 0 is that of the stream.
func readRate(r *bitReader, code uint64) int {
	switch code {
	case 12:
		return 1000 * int(r.read(8))
	case 13:
		return int(r.read(16))
	case 14:
		return 10 * int(r.read(16))
	}
	return flacRates[code]
}

// channels is how many the frame has.
func (h frameHeader) channels() int {
	if h.coding >= 8 {
		return 2
	}
	return h.coding + 1
}

// width is how many bits the samples of channel c, from 0, take before they are joined: a difference takes one more.
func (h frameHeader) width(c, bits int) uint {
	if c == 0 && h.coding == 9 || c == 1 && (h.coding == 8 || h.coding == 10) {
		bits++
	}
	return uint(bits)
}

// codedNumber reads a number of up to 36 bits, coded as UTF-8 codes characters; −1 if it is none.
func codedNumber(r *bitReader) int64 {
	first := uint8(r.read(8))
	ones := 0
	for first<<ones&0x80 != 0 && ones < 8 {
		ones++
	}
	if ones == 0 {
		return int64(first)
	}
	if ones == 1 || ones == 8 {
		return -1
	}
	number := int64(first & (0x7F >> ones))
	for range ones - 1 {
		next := r.read(8)
		if next>>6 != 2 {
			return -1
		}
		number = number<<6 | int64(next&0x3F)
	}
	return number
}

// frame decodes the samples that follow header h, whose frame began at byte start, and adds them to the channels.
func (s *flacStream) frame(h frameHeader, start int) error {
	if err := s.follows(h, start); err != nil {
		return err
	}
	if err := s.affordable(h, start); err != nil {
		return err
	}
	for c := range s.work {
		s.work[c] = slices.Grow(s.work[c][:0], h.block)[:h.block]
		if !decodeSubframe(&s.r, s.work[c], h.width(c, s.info.bits)) {
			return s.damaged(start)
		}
	}
	s.r.align()
	end := s.r.offset()
	if sum := uint16(s.r.read(16)); s.r.short {
		return errCut
	} else if sum != crc16(s.r.b[start:end]) {
		return s.damaged(start)
	}
	join(h.coding, s.work)
	return s.keep(start)
}

// follows makes sure that no frame is missing before this one, by its number.
func (s *flacStream) follows(h frameHeader, start int) error {
	number := s.count
	if h.variable {
		number = s.done
	}
	if s.count == 0 {
		s.shift, s.block = h.number, int64(h.block)
	}
	gap := h.number - s.shift - number
	if !h.variable {
		gap *= s.block
	}
	if gap != 0 {
		return flacFault(ErrHeader, int64(start), "at %.3f s the recording jumps by %+.3f s: frames are missing or out of order; copy it again from where it was recorded",
			s.time(), float64(gap)/float64(s.info.rate))
	}
	return nil
}

// affordable makes sure that h does not bring the samples beyond what they may take.
func (s *flacStream) affordable(h frameHeader, start int) error {
	samples := (s.done + int64(h.block)) * int64(s.info.channels)
	switch {
	case samples*int64((s.info.bits+7)/8) > s.limit:
		return tooLarge(s.limit)
	case 8*samples > silentBytes+silentRatio*int64(len(s.r.b)):
		return flacFault(ErrTooLarge, int64(start), "%.0f s of sound in so small a file are digital silence; cut the part that matters out of it, or export it as WAV", s.time())
	}
	return nil
}

// join undoes what stores two channels as one and a difference, RFC 9639 section 4.2.
func join(coding int, x [][]int64) {
	switch coding {
	case 8:
		for i, left := range x[0] {
			x[1][i] = left - x[1][i]
		}
	case 9:
		for i, right := range x[1] {
			x[0][i] += right
		}
	case 10:
		for i, middle := range x[0] {
			side := x[1][i]
			middle = middle<<1 | side&1
			x[0][i], x[1][i] = (middle+side)>>1, (middle-side)>>1
		}
	}
}

// keep adds the frame that was decoded to the channels and to the checksum.
func (s *flacStream) keep(start int) error {
	scale := math.Ldexp(1, 1-s.info.bits)
	most := int64(1)<<(s.info.bits-1) - 1
	width := (s.info.bits + 7) / 8
	stride := width * s.info.channels
	n := len(s.work[0])
	s.bytes = slices.Grow(s.bytes[:0], n*stride)[:n*stride]
	for c, x := range s.work {
		at := len(s.channels[c])
		s.channels[c] = slices.Grow(s.channels[c], n)[:at+n]
		for i, v := range x {
			if v > most || v < -most-1 {
				return s.damaged(start)
			}
			s.channels[c][at+i] = float64(v) * scale
			for k := range width {
				s.bytes[i*stride+c*width+k] = byte(v >> (8 * k))
			}
		}
	}
	s.hash.Write(s.bytes)
	return nil
}
