// Package biquad holds the second-order filters of the Audio EQ Cookbook (R.
// Bristow-Johnson; W3C Group Note, 8 June 2021): the same formulas that
// simulate a device, give its true response in tests, and correct a response.
package biquad

import (
	"math"
	"math/cmplx"
)

// Filter is a biquad with a0 normalised to 1,
//
//	y[n] = b0 x[n] + b1 x[n−1] + b2 x[n−2] − a1 y[n−1] − a2 y[n−2].
type Filter struct {
	B0, B1, B2, A1, A2 float64 // coefficients of the formula
}

// The shapes used here.
const (
	Peaking Shape = iota
	LowShelf
	HighShelf
	LowPass
	HighPass
	AllPass // leaves the level, and turns the phase by a whole turn around f
)

// New returns the cookbook's filter of a shape at f Hz with quality q and, for
// peaking and shelving, gain in dB, at a sample rate in Hz. It panics unless
// 0 < f < sampleRate/2 and q > 0.
func New(shape Shape, f, q, gain, sampleRate float64) Filter {
	if !(f > 0 && f < sampleRate/2 && q > 0) {
		panic("biquad: the frequency lies between 0 and half the sample rate, and Q above 0")
	}
	w := 2 * math.Pi * f / sampleRate
	sin, cos := math.Sincos(w)
	alpha := sin / (2 * q)
	a := math.Pow(10, gain/40)
	switch shape {
	case Peaking:
		return normalised(1+alpha*a, -2*cos, 1-alpha*a, 1+alpha/a, -2*cos, 1-alpha/a)
	case LowShelf:
		r := 2 * math.Sqrt(a) * alpha
		return normalised(
			a*((a+1)-(a-1)*cos+r), 2*a*((a-1)-(a+1)*cos), a*((a+1)-(a-1)*cos-r),
			(a+1)+(a-1)*cos+r, -2*((a-1)+(a+1)*cos), (a+1)+(a-1)*cos-r)
	case HighShelf:
		r := 2 * math.Sqrt(a) * alpha
		return normalised(
			a*((a+1)+(a-1)*cos+r), -2*a*((a-1)+(a+1)*cos), a*((a+1)+(a-1)*cos-r),
			(a+1)-(a-1)*cos+r, 2*((a-1)-(a+1)*cos), (a+1)-(a-1)*cos-r)
	case LowPass:
		return normalised((1-cos)/2, 1-cos, (1-cos)/2, 1+alpha, -2*cos, 1-alpha)
	case HighPass:
		return normalised((1+cos)/2, -(1 + cos), (1+cos)/2, 1+alpha, -2*cos, 1-alpha)
	case AllPass:
		return normalised(1-alpha, -2*cos, 1+alpha, 1+alpha, -2*cos, 1-alpha)
	}
	panic("biquad: no such shape")
}

// Response returns the complex response at f Hz at a sample rate in Hz.
func (q Filter) Response(f, sampleRate float64) complex128 {
	z := cmplx.Rect(1, -2*math.Pi*f/sampleRate)
	return (complex(q.B0, 0) + z*(complex(q.B1, 0)+z*complex(q.B2, 0))) /
		(1 + z*(complex(q.A1, 0)+z*complex(q.A2, 0)))
}

// Squared returns the coefficients of |H|² as a ratio of polynomials in
// φ = sin²(πf/sampleRate), by rising power:
//
//	|b0 + b1 z⁻¹ + b2 z⁻²|² = (b0+b1+b2)² − 4(b0b1 + 4b0b2 + b1b2) φ + 16 b0b2 φ²
//
// and alike for the denominator. It costs no complex arithmetic.
func (q Filter) Squared() (numerator, denominator [3]float64) {
	return squared(q.B0, q.B1, q.B2), squared(1, q.A1, q.A2)
}

// Apply filters x in place, from rest.
func (q Filter) Apply(x []float64) {
	var s1, s2 float64 // transposed direct form II
	for i, v := range x {
		y := q.B0*v + s1
		s1 = q.B1*v - q.A1*y + s2
		s2 = q.B2*v - q.A2*y
		x[i] = y
	}
}

// Shape is the kind of a filter.
type Shape int

// Chain is a series of filters.
type Chain []Filter

// Response returns the product of the filters' responses at f Hz.
func (c Chain) Response(f, sampleRate float64) complex128 {
	h := complex(1, 0)
	for _, q := range c {
		h *= q.Response(f, sampleRate)
	}
	return h
}

// Apply filters x in place by every filter in turn. It passes each sample through four filters in
// turn, which is faster than all samples through one filter after another: while one filter waits
// for its own last output, others work.
func (c Chain) Apply(x []float64) {
	for ; len(c) > 1; c = c[min(4, len(c)):] {
		four := [4]Filter{{B0: 1}, {B0: 1}, {B0: 1}, {B0: 1}} // which change nothing
		copy(four[:], c)
		applyFour(&four, x)
	}
	if len(c) == 1 {
		c[0].Apply(x)
	}
}

func normalised(b0, b1, b2, a0, a1, a2 float64) Filter {
	return Filter{b0 / a0, b1 / a0, b2 / a0, a1 / a0, a2 / a0}
}

func squared(c0, c1, c2 float64) [3]float64 {
	sum := c0 + c1 + c2
	return [3]float64{sum * sum, -4 * (c0*c1 + 4*c0*c2 + c1*c2), 16 * c0 * c2}
}

// applyFour is Apply for four filters, whose states stay in registers.
func applyFour(c *[4]Filter, x []float64) {
	a, b, d, e := c[0], c[1], c[2], c[3]
	var a1, a2, b1, b2, d1, d2, e1, e2 float64
	for i, v := range x {
		y := a.B0*v + a1
		a1 = a.B1*v - a.A1*y + a2
		a2 = a.B2*v - a.A2*y
		v = b.B0*y + b1
		b1 = b.B1*y - b.A1*v + b2
		b2 = b.B2*y - b.A2*v
		y = d.B0*v + d1
		d1 = d.B1*v - d.A1*y + d2
		d2 = d.B2*v - d.A2*y
		v = e.B0*y + e1
		e1 = e.B1*y - e.A1*v + e2
		e2 = e.B2*y - e.A2*v
		x[i] = v
	}
}
