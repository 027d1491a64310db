package flac

import "errors"

// frameHeader is the header of a frame, RFC 9639 section 9.1.
type frameHeader struct {
	block    int // samples of each channel
	variable bool
	coding   int   // 0–7: this plus one independent channels; 8–10: left and side, side and right, middle and side
	number   int64 // of the frame, or of its first sample
	rate     int   // Hz
	bits     int   // of a sample
}

// channels returns the number of channels in the frame.
func (h frameHeader) channels() int {
	if h.coding >= 8 {
		return 2
	}
	return h.coding + 1
}

// width returns the bits of the stored samples of channel c, counted from 0. A difference of two
// channels has one more.
func (h frameHeader) width(c int) uint {
	bits := h.bits
	if c == 0 && h.coding == 9 || c == 1 && (h.coding == 8 || h.coding == 10) {
		bits++
	}
	return uint(bits)
}

// The samples in a block by code. For codes 6 and 7 they follow in separate bytes.
var blockSizes = [16]int{1: 192, 576, 1152, 2304, 4608, 8: 256, 512, 1024, 2048, 4096, 8192, 16384, 32768}

// The sample rates by code. 0 is the rate of the stream; for codes 12 to 14 it follows in separate
// bytes; 15 is forbidden.
var sampleRates = [16]int{15: -1, 1: 88200, 176400, 192000, 8000, 16000, 22050, 24000, 32000, 44100, 48000, 96000}

// The bits of a sample by code. 0 is the number of the stream; 3 is reserved.
var sampleBits = [8]int{1: 8, 12, -1, 16, 20, 24, 32}

var (
	errNoFrame     = errors.New("no frame begins here")
	errCut         = errors.New("ends inside a frame")
	errOtherFormat = errors.New("not the format that the file begins with")
)

// readHeader reads the header of a frame in a stream of the format in info. The error is errCut if
// the bytes end too early, errNoFrame if there is no header, and errOtherFormat if its format
// differs.
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

// readBlock returns the samples in a block by code, or from the bytes that the code announces.
func readBlock(r *bitReader, code uint64) int {
	switch code {
	case 6:
		return int(r.read(8)) + 1
	case 7:
		return int(r.read(16)) + 1
	}
	return blockSizes[code]
}

// readRate returns the sample rate by code, or from the bytes that the code announces. 0 is the
// rate of the stream.
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

// codedNumber reads a number of up to 36 bits, coded as in UTF-8, or returns −1 if there is none.
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
