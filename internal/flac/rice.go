package flac

import (
	"encoding/binary"
	"math/bits"
)

// decodeResidual reads the residual of a prediction by order samples into x[order:], RFC 9639
// section 9.2.7: partitions of equal length, the first shorter by order, each with the parameter of
// its Rice code. It reports whether the residual is valid.
func decodeResidual(r *bitReader, x []int64, order int) bool {
	method, partitions := r.read(2), 1<<r.read(4)
	length := len(x) / partitions
	if method > 1 || len(x)%partitions != 0 || length < order {
		return false
	}
	bits := uint(4 + method)
	escape := uint64(1)<<bits - 1
	for p, from := 0, order; p < partitions && !r.short; p++ {
		to := (p + 1) * length
		part := x[from:to]
		from = to
		if k := r.read(bits); k == escape {
			readSigned(r, part, uint(r.read(5)))
		} else if !readRice(r, part, uint(k)) {
			return false
		}
	}
	return true
}

// readRice reads numbers whose quotient by 2^k is unary and whose remainder is binary; odd ones
// stand for negative numbers. It reports whether all fit into 32 bits, as the format demands.
func readRice(r *bitReader, x []int64, k uint) bool {
	for len(x) > 0 {
		if k <= 24 {
			x = x[readRicePairs(r, x, k):]
		}
		if len(x) == 0 {
			break
		}
		quotient := r.unary()
		if quotient>>(32-k) != 0 || r.short {
			return r.short
		}
		x[0] = unfold(quotient<<k | r.read(k))
		x = x[1:]
	}
	return true
}

// readRicePairs reads two numbers at a time, for k ≤ 24, and returns how many it read. It stops
// before two that are longer than the cache, and near the end. What it reads fits into 32 bits.
func readRicePairs(r *bitReader, x []int64, k uint) (read int) {
	b, pos, cache, n := r.b, r.pos, r.cache, r.n
	for ; read+2 <= len(x) && len(b)-pos >= 8; read += 2 {
		cache |= binary.BigEndian.Uint64(b[pos:]) >> (n & 63) // as fill does
		pos += int((63 - n) / 8)
		n |= 56

		first := uint(bits.LeadingZeros64(cache))
		rest := cache << ((first + 1 + k) & 63)
		second := uint(bits.LeadingZeros64(rest))
		taken := first + 1 + k + second + 1 + k
		if taken > n {
			break
		}
		pair := x[read : read+2]
		pair[0] = unfold(uint64(first)<<(k&63) | cache<<((first+1)&63)>>1>>((63-k)&63))
		pair[1] = unfold(uint64(second)<<(k&63) | rest<<((second+1)&63)>>1>>((63-k)&63))
		cache <<= taken & 63
		n -= taken
	}
	r.pos, r.cache, r.n = pos, cache, n
	return read
}

// unfold maps even numbers to positive and odd numbers to negative ones.
func unfold(v uint64) int64 { return int64(v>>1) ^ -int64(v&1) }
