package rig

import "math"

// sinc is sin(πx)/(πx).
func sinc(x float64) float64 {
	if math.Abs(x) < 1e-9 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// kaiser is the window of J. F. Kaiser (IEEE Int. Symp. Circuits and Systems,
// 1974), w(x) = I0(β sqrt(1 − x²))/I0(β), |x| ≤ 1.
type kaiser struct{ beta, centre float64 }

// newKaiser makes the window for a stop-band attenuation in dB, 50 and more.
func newKaiser(attenuation float64) kaiser {
	beta := 0.1102 * (attenuation - 8.7)
	return kaiser{beta, besselI0(beta)}
}

func (k kaiser) at(x float64) float64 {
	if x <= -1 || x >= 1 {
		return 0
	}
	return besselI0(k.beta*math.Sqrt(1-x*x)) / k.centre
}

// besselI0 is the modified Bessel function of order zero by its power series,
// Σ ((x/2)^k / k!)² (DLMF 10.25.2).
func besselI0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-17*sum; k++ {
		term *= x * x / (4 * k * k)
		sum += term
	}
	return sum
}

// The sinc between samples: sincHalf zero crossings to each side, under a
// Kaiser window of 100 dB. It is flat to 0.46 of the sample rate.
const (
	sincHalf  = 40
	sincLevel = 100.0
)

// between sets taps, of length 2 sincHalf, to the weights that interpolate at
// fraction (0 to 1) of the way from sample sincHalf−1 to the next.
func (k kaiser) between(taps []float64, fraction float64) {
	for i := range taps {
		x := float64(i-(sincHalf-1)) - fraction
		taps[i] = sinc(x) * k.at(x/sincHalf)
	}
}
