package smoothing

// doubled is a sum kept as two float64; the second holds the rounding error of the first: about 32
// digits. A difference of two running sums loses digits by the ratio of the sums to it. In a
// spectrum that falls by 120 dB that is 16 or 17 digits, all that a float64 has.
type doubled struct{ sum, rest float64 }

// add returns s + x. The error of the leading sum is found exactly (Knuth, The Art of Computer
// Programming, vol. 2, section 4.2.2, theorem B; from memory).
func (s doubled) add(x float64) doubled {
	a := s.sum + x
	b := a - s.sum
	e := (s.sum - (a - b)) + (x - b) + s.rest
	sum := a + e
	return doubled{sum, e - (sum - a)}
}

// minus returns s − t, rounded to float64.
func (s doubled) minus(t doubled) float64 {
	return (s.sum - t.sum) + (s.rest - t.rest)
}
