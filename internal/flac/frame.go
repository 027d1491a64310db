package flac

import (
	"math"
	"slices"
)

// frameDecoder decodes single frames from a piece of a file.
type frameDecoder struct {
	info *streamInfo
	r    bitReader
	work [][]int64 // the samples of a frame
}

func newFrameDecoder(info *streamInfo) frameDecoder {
	return frameDecoder{info: info, work: make([][]int64, info.channels)}
}

// header reads the header of the frame at byte start.
func (d *frameDecoder) header(start int) (frameHeader, error) {
	d.r.seek(start)
	return readHeader(&d.r, d.info)
}

// samples decodes the samples that follow header h, of the frame that began at byte start, into
// each channel from sample to on. It reports whether the frame is valid and its checksum right. If
// the piece ends too early, it returns false and d.r.short is set.
func (d *frameDecoder) samples(h frameHeader, start int, channels [][]float64, to int) bool {
	for c := range d.work {
		d.work[c] = slices.Grow(d.work[c][:0], h.block)[:h.block]
		if !decodeSubframe(&d.r, d.work[c], h.width(c)) {
			return false
		}
	}
	d.r.align()
	end := d.r.offset()
	if sum := uint16(d.r.read(16)); d.r.short || sum != crc16(d.r.b[start:end]) {
		return false
	}
	join(h.coding, d.work)
	for c, x := range d.work {
		if !scale(channels[c][to:to+h.block], x, d.info.bits) {
			return false
		}
	}
	return true
}

// join restores two channels that are stored as one and a difference, RFC 9639 section 4.2.
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

// scale converts samples of the given bits to full scale = 1 and reports whether all fit into these
// bits.
func scale(dst []float64, x []int64, bits int) bool {
	step := math.Ldexp(1, 1-bits)
	beyond := int64(0)
	for i, v := range x {
		dst[i] = float64(v) * step
		beyond |= v ^ v>>63 // has as many bits as v without its sign
	}
	return beyond>>(bits-1) == 0
}
