package flac

// decodeSubframe decodes one channel of a frame, RFC 9639 section 9.2, into x, of samples of width bits. It reports whether that
// was possible; where the reader came to the end of its bytes it says so itself.
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
	case kind == 0: // all alike
		v := r.signed(width)
		for i := range x {
			x[i] = v
		}
		return true
	case kind == 1: // as they are
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

// decodeFixed predicts by the polynomial through the last order samples, section 9.2.5.
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

// decodeLinear predicts by coefficients that stand in the file, section 9.2.6.
func decodeLinear(r *bitReader, x []int64, order int, width uint) bool {
	if order > len(x) {
		return false
	}
	readSigned(r, x[:order], width)
	precision, shift := uint(r.read(4))+1, r.signed(5)
	if precision == 16 || shift < 0 {
		return false
	}
	var room [32]int64
	coefficients := room[:order]
	for k := range coefficients { // those of the newest sample first
		coefficients[order-1-k] = r.signed(precision)
	}
	if !decodeResidual(r, x, order) {
		return false
	}
	addPrediction(x, coefficients, uint(shift))
	return true
}
