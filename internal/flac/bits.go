package flac

import (
	"encoding/binary"
	"math/bits"
)

// bitReader takes bits off a slice, the most significant of each byte first. Past the end it delivers zeros and sets short.
type bitReader struct {
	b     []byte
	pos   int    // of the next byte to go into the cache
	cache uint64 // bits at hand, from the top; what follows them is zero, or what stands there in the slice
	n     uint   // how many
	short bool
}

// seek makes byte at the next one to be read.
func (r *bitReader) seek(at int) { *r = bitReader{b: r.b, pos: at} }

// fill brings the bits at hand to 56 or more, as far as there are any.
func (r *bitReader) fill() {
	if len(r.b)-r.pos >= 8 {
		r.cache |= binary.BigEndian.Uint64(r.b[r.pos:]) >> (r.n & 63)
		r.pos += int((63 - r.n) / 8)
		r.n |= 56
		return
	}
	for r.n <= 56 && r.pos < len(r.b) {
		r.cache |= uint64(r.b[r.pos]) << (56 - r.n)
		r.pos++
		r.n += 8
	}
}

// read takes n ≤ 56 bits as an unsigned number.
func (r *bitReader) read(n uint) uint64 {
	if r.n < n {
		if r.fill(); r.n < n {
			r.short, r.cache, r.n = true, 0, 0
			return 0
		}
	}
	v := r.cache >> (64 - n)
	r.cache <<= n
	r.n -= n
	return v
}

// signed takes n ≤ 56 bits as a number in two's complement; of 0 bits it is 0.
func (r *bitReader) signed(n uint) int64 {
	return int64(r.read(n)<<(64-n)) >> (64 - n)
}

// unary takes zeros up to a one and returns how many there were.
func (r *bitReader) unary() (zeros uint64) {
	for {
		if r.n == 0 {
			if r.fill(); r.n == 0 {
				r.short = true
				return zeros
			}
		}
		z := uint(bits.LeadingZeros64(r.cache))
		if z < r.n {
			r.cache <<= z + 1
			r.n -= z + 1
			return zeros + uint64(z)
		}
		zeros += uint64(r.n)
		r.cache, r.n = 0, 0
	}
}

// align passes over the rest of a byte that was begun.
func (r *bitReader) align() {
	rest := r.n % 8
	r.cache <<= rest
	r.n -= rest
}

// offset is the index of the byte that the next bit is in; the reader stands at the beginning of a byte.
func (r *bitReader) offset() int { return r.pos - int(r.n/8) }
