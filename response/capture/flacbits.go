package capture

import "math/bits"

// bitReader takes bits off a slice, the most significant of each byte first. Past the end it delivers zeros and sets short.
type bitReader struct {
	b     []byte
	pos   int    // of the next byte to go into the cache
	cache uint64 // bits at hand, from the top
	n     uint   // how many
	short bool
}

func (r *bitReader) fill() {
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

// The checksums of frames, RFC 9639 sections 9.1.8 and 9.3: polynomials x⁸+x²+x+1 and x¹⁶+x¹⁵+x²+1, most significant bit
// first, from zero.
var crc8Table, crc16Table = crcTables()

func crcTables() (short [256]uint8, long [256]uint16) {
	for i := range 256 {
		s, l := uint8(i), uint16(i)<<8
		for range 8 {
			s = s<<1 ^ 0x07*(s>>7)
			l = l<<1 ^ 0x8005*(l>>15)
		}
		short[i], long[i] = s, l
	}
	return short, long
}

func crc8(b []byte) (c uint8) {
	for _, v := range b {
		c = crc8Table[c^v]
	}
	return c
}

func crc16(b []byte) (c uint16) {
	for _, v := range b {
		c = c<<8 ^ crc16Table[uint8(c>>8)^v]
	}
	return c
}
