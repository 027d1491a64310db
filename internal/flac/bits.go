package flac

import (
	"encoding/binary"
	"math/bits"
)

// bitReader reads bits from a slice, the most significant bit of each byte first. Past the end it
// returns zeros and sets short.
type bitReader struct {
	b     []byte
	pos   int    // index of the next byte to go into the cache
	cache uint64 // the next n bits, from the top; the bits below are zero or those that follow in the slice
	n     uint
	short bool
}

// seek moves to byte at.
func (r *bitReader) seek(at int) { *r = bitReader{b: r.b, pos: at} }

// fill fills the cache with 56 bits or more, or with all that are left.
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

// read returns the next n ≤ 56 bits as an unsigned number.
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

// signed returns the next n ≤ 56 bits as a number in two's complement, or 0 if n is 0.
func (r *bitReader) signed(n uint) int64 {
	return int64(r.read(n)<<(64-n)) >> (64 - n)
}

// unary skips zeros and the one that ends them, and returns the number of zeros.
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

// align moves to the beginning of the next byte unless it is at one.
func (r *bitReader) align() {
	rest := r.n % 8
	r.cache <<= rest
	r.n -= rest
}

// offset returns the index of the next byte. The reader must be at the beginning of a byte.
func (r *bitReader) offset() int { return r.pos - int(r.n/8) }
