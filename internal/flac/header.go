package flac

import "errors"

// frameHeader is what stands before each frame, RFC 9639 section 9.1.
type frameHeader struct {
	block    int // samples of each channel
	variable bool
	coding   int   // 0–7: independent channels, one more than this; 8–10: left and side, side and right, middle and side
	number   int64 // of the frame, or of its first sample
	rate     int   // Hz
	bits     int   // of a sample
}

// next is the number that the following frame has.
func (h frameHeader) next() int64 {
	if h.variable {
		return h.number + int64(h.block)
	}
	return h.number + 1
}

// The samples in a block, by their code; those of 6 and 7 stand in bytes of their own.
var blockSizes = [16]int{1: 192, 576, 1152, 2304, 4608, 8: 256, 512, 1024, 2048, 4096, 8192, 16384, 32768}

// The sample rates by their code; 0 is that of the stream, those of 12 to 14 stand in bytes of their own, 15 is forbidden.
var sampleRates = [16]int{15: -1, 1: 88200, 176400, 192000, 8000, 16000, 22050, 24000, 32000, 44100, 48000, 96000}

// The bits of a sample by their code; 0 is that of the stream, 3 is reserved.
var sampleBits = [8]int{1: 8, 12, -1, 16, 20, 24, 32}

var (
	errNoFrame     = errors.New("no frame begins here")
	errCut         = errors.New("ends inside a frame")
	errOtherFormat = errors.New("not the format that the file begins with")
)

// readHeader reads a frame's header in a stream of the format that info says. The error is errCut where the bytes end, errNoFrame where there is no
// header, and errOtherFormat where there is one that does not belong.
func readHeader(r *bitReader, info *streamInfo) (h frameHeader, err error) {
	start := r.offset()
	if r.read(15) != 0x7FFC && !r.short { // 14 bits to find it by, and a reserved one
		return h, errNoFrame
	}
	h.variable = r.read(1) == 1
	block, rate := r.read(4), r.read(4)
	h.coding = int(r.read(4))
	h.bits = sampleBits[r.read(3)]
	reserved := r.read(1)
	h.number = codedNumber(r)
	h.block = readBlock(r, block)
	h.rate = readRate(r, rate)
	end := r.offset()
	switch sum := uint8(r.read(8)); {
	case r.short:
		return h, errCut
	case h.number < 0 || h.block == 0 || h.coding > 10 || reserved != 0 || sum != crc8(r.b[start:end]):
		return h, errNoFrame
	}
	if h.rate == 0 {
		h.rate = info.rate
	}
	if h.bits == 0 {
		h.bits = info.bits
	}
	if h.rate != info.rate || h.bits != info.bits || h.channels() != info.channels {
		return h, errOtherFormat
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
	return blockSizes[code]
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
	return sampleRates[code]
}

// channels is how many the frame has.
func (h frameHeader) channels() int {
	if h.coding >= 8 {
		return 2
	}
	return h.coding + 1
}

// width is how many bits the samples of channel c, from 0, take before they are joined: a difference takes one more.
func (h frameHeader) width(c int) uint {
	bits := h.bits
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
