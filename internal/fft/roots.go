package fft

import (
	"math"
	"math/cmplx"
)

// roots gives exp(−j2πk/n) for any k below n as the product of two roots from short tables. These
// stay in the cache, unlike a table of all n; the product is right to two roundings.
type roots struct{ coarse, fine []complex128 }

const fineRoots = 1 << 10

func newRoots(n int) roots {
	r := roots{make([]complex128, (n+fineRoots-1)/fineRoots), make([]complex128, min(n, fineRoots))}
	for k := range r.coarse {
		r.coarse[k] = unit(k*fineRoots, n)
	}
	for k := range r.fine {
		r.fine[k] = unit(k, n)
	}
	return r
}

func (r *roots) at(k int) complex128 {
	u := uint(k) // unsigned, so that the division is a shift
	return r.coarse[u/fineRoots] * r.fine[u%fineRoots]
}

// unit returns exp(−j2πk/n), exact at quarter turns.
func unit(k, n int) complex128 {
	switch 4 * k {
	case 0:
		return 1
	case n:
		return -1i
	case 2 * n:
		return -1
	case 3 * n:
		return 1i
	}
	return cmplx.Rect(1, -2*math.Pi*float64(k)/float64(n))
}
