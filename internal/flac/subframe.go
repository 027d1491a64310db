package flac

// decodeSubframe decodes one channel of a frame into x, RFC 9639 section 9.2, with samples of width
// bits. It reports whether the subframe is valid. If the bytes end too early, r.short is set.
func decodeSubframe(r *bitReader, x []int64, width uint) bool {
	zero, kind := r.read(1), int(r.read(6))
	wasted := uint64(0) // bits that are zero in all samples
	if r.read(1) == 1 {
		wasted = r.unary() + 1
	}
	if zero != 0 || wasted >= uint64(width) {
		return false
	}
	if width -= uint(wasted); !decodeSamples(r, x, kind, width) {
		return false
	}
	if wasted > 0 {
		for i := range x {
			x[i] <<= wasted
		}
	}
	return true
}

func decodeSamples(r *bitReader, x []int64, kind int, width uint) bool {
	switch {
	case kind == 0: // one value for all
		v := r.signed(width)
		for i := range x {
			x[i] = v
		}
		return true
	case kind == 1: // uncompressed
		readSigned(r, x, width)
		return true
	case kind >= 8 && kind <= 12:
		return decodeFixed(r, x, kind-8, width)
	case kind >= 32:
		return decodeLinear(r, x, kind-31, width)
	}
	return false
}

func readSigned(r *bitReader, x []int64, width uint) {
	for i := range x {
		x[i] = r.signed(width)
	}
}

// decodeFixed decodes samples predicted by the polynomial through the last order samples, section
// 9.2.5.
func decodeFixed(r *bitReader, x []int64, order int, width uint) bool {
	if order > len(x) {
		return false
	}
	readSigned(r, x[:order], width)
	if !decodeResidual(r, x, order) {
		return false
	}
	addPolynomial(x, order)
	return true
}

// decodeLinear decodes samples predicted by coefficients in the file, section 9.2.6.
func decodeLinear(r *bitReader, x []int64, order int, width uint) bool {
	if order > len(x) {
		return false
	}
	readSigned(r, x[:order], width)
	precision, shift := uint(r.read(4))+1, r.signed(5)
	if precision == 16 || shift < 0 {
		return false
	}
	var all [32]int64
	coefficients := all[:order]
	for k := range coefficients { // the file has that of the newest sample first
		coefficients[order-1-k] = r.signed(precision)
	}
	if !decodeResidual(r, x, order) {
		return false
	}
	addPrediction(x, coefficients, uint(shift))
	return true
}
