package rig

import "math"

// Polynomial holds the coefficients of x², x³, x⁴ and x⁵ that a device adds to its signal: y = x +
// P(x). The zero Polynomial adds nothing.
type Polynomial [4]float64

// NewPolynomial returns the polynomial whose harmonics 2 to 5 have the given levels, in dB re the
// input tone, for a tone with a peak in dBFS; −Inf leaves an order out. Even orders get a positive
// sign, odd ones a negative one: they compress, as drivers do.
//
// The equations are those of Harmonic, solved from the fifth order down.
func NewPolynomial(peak, second, third, fourth, fifth float64) Polynomial {
	u := factor(peak)
	h2, h3, h4, h5 := factor(second)*u, factor(third)*u, factor(fourth)*u, factor(fifth)*u
	return Polynomial{
		2 * (h2 - 4*h4) / math.Pow(u, 2),
		-4 * (h3 - 5*h5) / math.Pow(u, 3),
		8 * h4 / math.Pow(u, 4),
		-16 * h5 / math.Pow(u, 5),
	}
}

// At returns P(x), without x itself.
func (p Polynomial) At(x float64) float64 {
	return x * x * (p[0] + x*(p[1]+x*(p[2]+x*p[3])))
}

// Harmonic returns the n-th harmonic of x + P(x) for x = u sin φ: the phasor h of
//
//	Im(h exp(jnφ)),
//
// and for n = 0 the constant itself. By the power-reduction identities (NIST Digital Library of
// Mathematical Functions, section 4.21)
//
//	h0 = a2 u²/2 + 3 a4 u⁴/8
//	h1 = u + 3 a3 u³/4 + 5 a5 u⁵/8
//	h2 = −j (a2 u²/2 + a4 u⁴/2)
//	h3 = −(a3 u³/4 + 5 a5 u⁵/16)
//	h4 = j a4 u⁴/8
//	h5 = a5 u⁵/16
//
// and 0 above. It panics if order < 0.
func (p Polynomial) Harmonic(order int, u float64) complex128 {
	if order < 0 {
		panic("rig: harmonics count from 0, the constant")
	}
	u2, u3, u4, u5 := p[0]*u*u, p[1]*math.Pow(u, 3), p[2]*math.Pow(u, 4), p[3]*math.Pow(u, 5)
	switch order {
	case 0:
		return complex(u2/2+3*u4/8, 0)
	case 1:
		return complex(u+3*u3/4+5*u5/8, 0)
	case 2:
		return complex(0, -(u2/2 + u4/2))
	case 3:
		return complex(-(u3/4 + 5*u5/16), 0)
	case 4:
		return complex(0, u4/8)
	case 5:
		return complex(u5/16, 0)
	}
	return 0
}
