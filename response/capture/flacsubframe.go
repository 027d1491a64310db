package capture

// decodeSubframe decodes one channel of a frame, RFC 9639 section 9.2, into x, of samples of width bits. It reports whether that
// was possible; where the reader came to the end of the file it says so itself.
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
	switch order {
	case 1:
		for i := 1; i < len(x); i++ {
			x[i] += x[i-1]
		}
	case 2:
		for i := 2; i < len(x); i++ {
			x[i] += 2*x[i-1] - x[i-2]
		}
	case 3:
		for i := 3; i < len(x); i++ {
			x[i] += 3*(x[i-1]-x[i-2]) + x[i-3]
		}
	case 4:
		for i := 4; i < len(x); i++ {
			x[i] += 4*(x[i-1]+x[i-3]) - 6*x[i-2] - x[i-4]
		}
	}
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
	for k := range coefficients { // oldest sample first
		coefficients[order-1-k] = r.signed(precision)
	}
	if !decodeResidual(r, x, order) {
		return false
	}
	for i := order; i < len(x); i++ {
		var sum int64
		past := x[i-order : i]
		for k, c := range coefficients {
			sum += c * past[k]
		}
		x[i] += sum >> shift
	}
	return true
}

// decodeResidual reads what prediction by order samples leaves over into x[order:], section 9.2.7: partitions of equal length, the first
// without the samples that were given, each with the parameter of its Rice code.
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

// readRice reads numbers whose quotient by 2^k is unary and whose remainder is binary; odd ones stand for negative
// numbers. It reports whether all fit 32 bits, which the format demands.
func readRice(r *bitReader, x []int64, k uint) bool {
	for i := range x {
		quotient := r.unary()
		if quotient>>(32-k) != 0 || r.short {
			return r.short
		}
		v := quotient<<k | r.read(k)
		x[i] = int64(v>>1) ^ -int64(v&1)
	}
	return true
}
