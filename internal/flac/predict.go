package flac

// addPolynomial adds to each residual in x[order:] the polynomial through the order samples before
// it.
func addPolynomial(x []int64, order int) {
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
}

// addPrediction adds to each residual in x[len(coefficients):] the samples before it, weighted by
// the coefficients and shifted right. The first coefficient belongs to the oldest sample. Encoders
// use at most 8 or at most 12 by default, so shorter lists are filled up with zeros to these
// lengths.
func addPrediction(x, coefficients []int64, shift uint) {
	order := len(coefficients)
	switch {
	case order <= 8 && len(x) > 8:
		var c [8]int64
		copy(c[8-order:], coefficients)
		predict(x[:8], coefficients, shift)
		predict8(x, &c, shift)
	case order <= 12 && len(x) > 12:
		var c [12]int64
		copy(c[12-order:], coefficients)
		predict(x[:12], coefficients, shift)
		predict12(x, &c, shift)
	default:
		predict(x, coefficients, shift)
	}
}

// predict takes any number of coefficients.
func predict(x, coefficients []int64, shift uint) {
	order := len(coefficients)
	for i := order; i < len(x); i++ {
		var sum int64
		past := x[i-order : i]
		for k, c := range coefficients {
			sum += c * past[k]
		}
		x[i] += sum >> shift
	}
}

// predict8 is predict for 8 coefficients. The newest sample comes last, since the processor waits
// for it.
func predict8(x []int64, c *[8]int64, shift uint) {
	for ; len(x) > 8; x = x[1:] {
		p := (*[9]int64)(x)
		sum := c[0]*p[0] + c[1]*p[1] + c[2]*p[2] + c[3]*p[3] + c[4]*p[4] + c[5]*p[5] + c[6]*p[6] + c[7]*p[7]
		p[8] += sum >> (shift & 63)
	}
}

// predict12 is predict for 12 coefficients.
func predict12(x []int64, c *[12]int64, shift uint) {
	for ; len(x) > 12; x = x[1:] {
		p := (*[13]int64)(x)
		sum := c[0]*p[0] + c[1]*p[1] + c[2]*p[2] + c[3]*p[3] + c[4]*p[4] + c[5]*p[5]
		sum += c[6]*p[6] + c[7]*p[7] + c[8]*p[8] + c[9]*p[9] + c[10]*p[10] + c[11]*p[11]
		p[12] += sum >> (shift & 63)
	}
}
