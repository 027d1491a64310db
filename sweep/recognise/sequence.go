package recognise

import (
	"math"
	"math/bits"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
)

const (
	leastOrder, mostOrder = 4, 24
	// follows is the least share of samples that follow the rule of a sequence.
	follows = 0.999
)

// sequence recognises a maximum-length sequence: two values whose signs come from a linear feedback
// shift register with a primitive polynomial, so that it repeats after 2^m − 1 samples and no
// earlier.
func sequence(x []float64, _ float64) (Content, bool) {
	magnitudes := make([]float64, len(x))
	for i, v := range x {
		magnitudes[i] = math.Abs(v)
	}
	level := statistic.Median(magnitudes)
	near := 0
	for _, v := range magnitudes {
		if math.Abs(v-level) < 0.02*level {
			near++
		}
	}
	if !(float64(near) >= follows*float64(len(x))) {
		return Content{}, false
	}
	for _, sign := range []float64{1, -1} { // either of the two values may stand for 1
		signs := make([]byte, len(x))
		for i, v := range x {
			if sign*v < 0 {
				signs[i] = 1
			}
		}
		rule := shortestRegister(signs[:min(len(signs), 8*mostOrder)])
		order := bits.Len64(rule) - 1
		if order < leastOrder || order > mostOrder || len(x) < 1<<order-1 || !primitive(reciprocal(rule)) {
			continue
		}
		if share := obeys(signs, rule); share >= follows {
			c := Content{Kind: MaximumLength, Level: decibel.OfAmplitude(level), Certainty: share, Order: order}
			p := reciprocal(rule)
			for e := order; e >= 0; e-- {
				if p>>e&1 == 1 {
					c.Taps = append(c.Taps, e)
				}
			}
			return c, true
		}
	}
	return Content{}, false
}

// shortestRegister returns the connection polynomial of the shortest shift register that generates
// the signs, bit i standing for x^i: s[n] = Σ c[i] s[n−i] (J. L. Massey, IEEE Trans. IT-15(1),
// 1969). It is 0 if that takes more than mostOrder stages.
func shortestRegister(signs []byte) uint64 {
	c, before, length, since := uint64(1), uint64(1), 0, 1
	for n := range signs {
		var discrepancy byte
		for i := 0; i <= length; i++ {
			discrepancy ^= byte(c>>i&1) & signs[n-i]
		}
		switch {
		case discrepancy == 0:
			since++
		case 2*length <= n:
			c, before, length, since = c^before<<since, c, n+1-length, 1
			if length > mostOrder {
				return 0
			}
		default:
			c ^= before << since
			since++
		}
	}
	if bits.Len64(c)-1 != length {
		return 0
	}
	return c
}

// obeys returns the share of the signs that a register generates from those before them.
func obeys(signs []byte, rule uint64) float64 {
	order := bits.Len64(rule) - 1
	var state uint64 // bit i−1 is s[n−i]
	good := 0
	for n, s := range signs {
		if n >= order && byte(bits.OnesCount64(state&(rule>>1))&1) == s {
			good++
		}
		state = state<<1 | uint64(s)
	}
	return float64(good) / float64(len(signs)-order)
}

// reciprocal reverses the order of a polynomial's coefficients: a connection polynomial becomes the
// characteristic one.
func reciprocal(p uint64) uint64 { return bits.Reverse64(p) >> bits.LeadingZeros64(p) }

// primitive reports whether a polynomial over two elements has the order 2^m − 1: x^(2^m − 1) is 1,
// and x to none of its largest proper divisors is.
func primitive(p uint64) bool {
	order := bits.Len64(p) - 1
	whole := uint64(1)<<order - 1
	if p&1 == 0 || power(whole, p) != 1 {
		return false
	}
	rest := whole
	for q := uint64(2); q <= rest; q++ {
		if rest%q != 0 {
			continue
		}
		for rest%q == 0 {
			rest /= q
		}
		if power(whole/q, p) == 1 {
			return false
		}
	}
	return true
}

// power returns x^n modulo p.
func power(n, p uint64) uint64 {
	times := func(a, b uint64) (product uint64) {
		for ; b > 0; b >>= 1 {
			if b&1 == 1 {
				product ^= a
			}
			if a <<= 1; a>>(bits.Len64(p)-1)&1 == 1 {
				a ^= p
			}
		}
		return product
	}
	result := uint64(1)
	for base := uint64(2); n > 0; n >>= 1 {
		if n&1 == 1 {
			result = times(result, base)
		}
		base = times(base, base)
	}
	return result
}
