package fft

// halves transforms n real samples as n/2 complex ones: even samples as real parts, odd ones as
// imaginary parts, separated afterwards by the symmetry of the spectrum of a real sequence
// (Oppenheim and Schafer, Discrete-Time Signal Processing, from memory).
type halves struct {
	complex *Complex
	roots   roots // exp(−j2πk/n)
}

// newHalves returns nil if n is odd or has a prime factor above 5.
func newHalves(n int) *halves {
	if n%2 != 0 || factorise(n/2) == nil {
		return nil
	}
	return &halves{NewComplex(n / 2), newRoots(n)}
}

func (h *halves) forward(dst []complex128, x []float64) {
	h.complex.run(
		func(piece []complex128, at int) { pair(piece, x[min(2*at, len(x)):]) },
		func(piece []complex128, at int) { copy(dst[at:], piece) })
	m := h.complex.n
	dst[0], dst[m] = complex(real(dst[0])+imag(dst[0]), 0), complex(real(dst[0])-imag(dst[0]), 0)
	for k := 1; k <= m-k; k++ {
		dst[k], dst[m-k] = apart(dst[k], dst[m-k], h.roots.at(k))
	}
}

func (h *halves) inverse(dst []float64, spectrum []complex128) {
	scale := 1 / float64(h.complex.n)
	h.complex.run(
		func(piece []complex128, at int) { h.join(piece, spectrum, at) },
		func(piece []complex128, at int) {
			out := dst[2*at:][:2*len(piece)]
			for i, v := range piece {
				two := out[2*i:][:2]
				two[0], two[1] = scale*real(v), -scale*imag(v)
			}
		})
}

// join sets dst to bins of the complex sequence from k on, conjugated, so that
// the forward transform gives the conjugate of the inverse one.
func (h *halves) join(dst, spectrum []complex128, k int) {
	m := h.complex.n
	straight, mirrored := spectrum[k:][:len(dst)], spectrum[m-k-len(dst)+1:][:len(dst)]
	for i, a := range straight {
		mirror := mirrored[len(mirrored)-1-i]
		sum := complex(0.5*(real(a)+real(mirror)), 0.5*(imag(mirror)-imag(a)))
		// conj(a − conj(mirror))/2 times −j
		turned := complex(-0.5*(imag(a)+imag(mirror)), -0.5*(real(a)-real(mirror)))
		dst[i] = sum + turned*h.roots.at(k+i)
	}
	if k == 0 { // neither end has an imaginary part
		first, last := real(spectrum[0]), real(spectrum[m])
		dst[0] = complex(0.5*(first+last), -0.5*(first-last))
	}
}

// pair packs samples two by two; after the last come zeros.
func pair(dst []complex128, x []float64) {
	full := min(len(dst), len(x)/2)
	x = x[:min(len(x), 2*len(dst))]
	for i := range dst[:full] {
		two := x[2*i:][:2]
		dst[i] = complex(two[0], two[1])
	}
	if full < len(dst) {
		clear(dst[full:])
		if len(x)%2 != 0 {
			dst[full] = complex(x[len(x)-1], 0)
		}
	}
}

// apart returns bins k and n/2−k of the real sequence from those of the complex
// one; w is exp(−j2πk/n).
func apart(z, mirror, w complex128) (complex128, complex128) {
	sum := complex(0.5*(real(z)+real(mirror)), 0.5*(imag(z)-imag(mirror)))
	// (z − conj(mirror))/2 times −j
	turned := complex(0.5*(imag(z)+imag(mirror)), 0.5*(real(mirror)-real(z)))
	turned *= w
	return sum + turned, complex(real(sum)-real(turned), imag(turned)-imag(sum))
}
