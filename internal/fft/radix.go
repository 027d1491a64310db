package fft

import "slices"

// radix transforms interleaved complex sequences of one length that fits the cache, by Stockham's
// autosort algorithm in steps of 4, 2, 3 and 5 (C. Van Loan, Computational Frameworks for the Fast
// Fourier Transform, 1992, from memory). Each step divides the remaining length by the factor and
// multiplies the stride by it, which puts the result in order without a separate pass.
//
// It is only read once made, so goroutines share it.
type radix struct {
	n        int
	factors  []int
	twiddles []complex128 // exp(−j2πk/n), k = 0 … n−1
}

// newRadix returns the transform of n points, or nil if n has a prime factor
// above 5.
func newRadix(n int) *radix {
	factors := factorise(n)
	if factors == nil {
		return nil
	}
	r := &radix{n, factors, make([]complex128, n)}
	for k := range r.twiddles {
		r.twiddles[k] = unit(k, n)
	}
	return r
}

// transform computes X[k] = Σ x[i] exp(−j2πik/n) of each of several interleaved sequences: sample i
// of sequence q is x[i·together + q]. It returns the one of the two slices that holds the result;
// the other is overwritten.
func (r *radix) transform(x, scratch []complex128, together int) []complex128 {
	x, scratch = x[:r.n*together], scratch[:r.n*together]
	n, s := r.n, together
	for _, f := range r.factors {
		step := pass{out: scratch, in: x, n: n / f, s: s, w: r.twiddles, stride: s / together}
		switch f {
		case 2:
			step.two()
		case 3:
			step.three()
		case 4:
			step.four()
		case 5:
			step.five()
		}
		n, s = n/f, s*f
		x, scratch = scratch, x
	}
	return x
}

// pass is one step: n butterflies for each of s interleaved sequences.
type pass struct {
	out, in []complex128
	n, s    int
	w       []complex128
	stride  int // between the twiddles of neighbouring butterflies
}

// from returns the i-th input of butterfly b, and to its i-th output for factor f: s samples.
func (p *pass) from(b, i int) []complex128 { return p.in[p.s*(b+i*p.n):][:p.s] }

func (p *pass) to(b, i, f int) []complex128 { return p.out[p.s*(f*b+i):][:p.s] }

func (p *pass) two() {
	for b := range p.n {
		w := p.w[b*p.stride]
		x0, x1 := p.from(b, 0), p.from(b, 1)
		y0, y1 := p.to(b, 0, 2), p.to(b, 1, 2)
		for q, a := range x0 {
			c := x1[q]
			y0[q], y1[q] = a+c, w*(a-c)
		}
	}
}

func (p *pass) three() {
	const half, sine = -0.5, 0.866025403784438646763723170752936183 // cos and sin of 2π/3
	for b := range p.n {
		w1, w2 := p.w[b*p.stride], p.w[2*b*p.stride]
		x0, x1, x2 := p.from(b, 0), p.from(b, 1), p.from(b, 2)
		y0, y1, y2 := p.to(b, 0, 3), p.to(b, 1, 3), p.to(b, 2, 3)
		for q, a := range x0 {
			b, c := x1[q], x2[q]
			sumRe, sumIm := real(b)+real(c), imag(b)+imag(c)
			turnedRe, turnedIm := sine*(imag(b)-imag(c)), sine*(real(c)-real(b)) // times −j
			y0[q] = complex(real(a)+sumRe, imag(a)+sumIm)
			restRe, restIm := real(a)+half*sumRe, imag(a)+half*sumIm
			y1[q] = times(w1, restRe+turnedRe, restIm+turnedIm)
			y2[q] = times(w2, restRe-turnedRe, restIm-turnedIm)
		}
	}
}

func (p *pass) four() {
	if p.s == 1 {
		p.fourAlone()
		return
	}
	for b := range p.n {
		x0, x1, x2, x3 := p.from(b, 0), p.from(b, 1), p.from(b, 2), p.from(b, 3)
		y0, y1, y2, y3 := p.to(b, 0, 4), p.to(b, 1, 4), p.to(b, 2, 4), p.to(b, 3, 4)
		if b == 0 { // all twiddles are 1
			for q, a := range x0 {
				sum, difference := a+x2[q], a-x2[q]
				other, turned := x1[q]+x3[q], x1[q]-x3[q]
				turned = complex(-imag(turned), real(turned)) // times j
				y0[q], y1[q], y2[q], y3[q] = sum+other, difference-turned, sum-other, difference+turned
			}
			continue
		}
		w1, w2, w3 := p.w[b*p.stride], p.w[2*b*p.stride], p.w[3*b*p.stride]
		// In real numbers, with each result as soon as possible, so that all of them stay in
		// registers.
		for q, a := range x0 {
			c, d, e := x1[q], x2[q], x3[q]
			sumRe, sumIm := real(a)+real(d), imag(a)+imag(d)
			differenceRe, differenceIm := real(a)-real(d), imag(a)-imag(d)
			otherRe, otherIm := real(c)+real(e), imag(c)+imag(e)
			turnedRe, turnedIm := imag(e)-imag(c), real(c)-real(e) // times j
			y0[q] = complex(sumRe+otherRe, sumIm+otherIm)
			y2[q] = times(w2, sumRe-otherRe, sumIm-otherIm)
			y1[q] = times(w1, differenceRe-turnedRe, differenceIm-turnedIm)
			y3[q] = times(w3, differenceRe+turnedRe, differenceIm+turnedIm)
		}
	}
}

// fourAlone is four for one sequence, whose butterflies lie side by side.
func (p *pass) fourAlone() {
	n, out := p.n, p.out
	x0, x1, x2, x3 := p.in[:n], p.in[n:][:n], p.in[2*n:][:n], p.in[3*n:][:n]
	for b, a := range x0 {
		w1, w2, w3 := p.w[b*p.stride], p.w[2*b*p.stride], p.w[3*b*p.stride]
		sum, difference := a+x2[b], a-x2[b]
		other, turned := x1[b]+x3[b], x1[b]-x3[b]
		turned = complex(-imag(turned), real(turned)) // times j
		y := (*[4]complex128)(out[4*b:])
		y[0], y[1], y[2], y[3] = sum+other, w1*(difference-turned), w2*(sum-other), w3*(difference+turned)
	}
}

func (p *pass) five() {
	const (
		cos1, sin1 = 0.309016994374947424102293417182819059, 0.951056516295153572116439333379382143  // of 2π/5
		cos2, sin2 = -0.809016994374947424102293417182819059, 0.587785252292473129168705954639072769 // of 4π/5
	)
	for b := range p.n {
		w1, w2, w3, w4 := p.w[b*p.stride], p.w[2*b*p.stride], p.w[3*b*p.stride], p.w[4*b*p.stride]
		x0, x1, x2, x3, x4 := p.from(b, 0), p.from(b, 1), p.from(b, 2), p.from(b, 3), p.from(b, 4)
		y0, y1, y2, y3, y4 := p.to(b, 0, 5), p.to(b, 1, 5), p.to(b, 2, 5), p.to(b, 3, 5), p.to(b, 4, 5)
		for q, a := range x0 {
			b, c, d, e := x1[q], x2[q], x3[q], x4[q]
			s1Re, s1Im := real(b)+real(e), imag(b)+imag(e)
			s2Re, s2Im := real(c)+real(d), imag(c)+imag(d)
			y0[q] = complex(real(a)+s1Re+s2Re, imag(a)+s1Im+s2Im)
			d1Re, d1Im := real(b)-real(e), imag(b)-imag(e)
			d2Re, d2Im := real(c)-real(d), imag(c)-imag(d)
			restRe, restIm := real(a)+cos1*s1Re+cos2*s2Re, imag(a)+cos1*s1Im+cos2*s2Im
			turnedRe, turnedIm := sin1*d1Im+sin2*d2Im, -sin1*d1Re-sin2*d2Re // times −j
			y1[q] = times(w1, restRe+turnedRe, restIm+turnedIm)
			y4[q] = times(w4, restRe-turnedRe, restIm-turnedIm)
			restRe, restIm = real(a)+cos2*s1Re+cos1*s2Re, imag(a)+cos2*s1Im+cos1*s2Im
			turnedRe, turnedIm = sin2*d1Im-sin1*d2Im, sin1*d2Re-sin2*d1Re
			y2[q] = times(w2, restRe+turnedRe, restIm+turnedIm)
			y3[q] = times(w3, restRe-turnedRe, restIm-turnedIm)
		}
	}
}

// factorise returns the steps for a length, or nil if there are none. Fours come first and last,
// where they need no twiddles or have them in order.
func factorise(n int) []int {
	factors, fours := []int{}, []int{}
	for _, f := range [...]int{4, 2, 3, 5} {
		for n > 0 && n%f == 0 {
			if f == 4 {
				fours = append(fours, f)
			} else {
				factors = append(factors, f)
			}
			n /= f
		}
	}
	if n != 1 {
		return nil
	}
	if len(fours) == 0 {
		return factors
	}
	return slices.Concat(fours[:1], factors, fours[1:])
}

// times returns w (re + j im).
func times(w complex128, re, im float64) complex128 {
	return complex(real(w)*re-imag(w)*im, real(w)*im+imag(w)*re)
}
