package level_test

import (
	"math"
	"math/rand/v2"

	"example.com/earnest/response"
)

const rate = 48000

// sine is a sine of an rms at f Hz.
func sine(f, rms, seconds float64) []float64 {
	x := make([]float64, int(seconds*rate))
	for i := range x {
		x[i] = math.Sqrt2 * rms * math.Sin(2*math.Pi*f*float64(i)/rate)
	}
	return x
}

// noise is white and Gaussian.
func noise(seed uint64, rms, seconds float64) []float64 {
	random := rand.New(rand.NewPCG(seed, 7))
	x := make([]float64, int(seconds*rate))
	for i := range x {
		x[i] = rms * random.NormFloat64()
	}
	return x
}

func sum(a, b []float64) []float64 {
	out := make([]float64, len(a))
	for i := range a {
		out[i] = a[i] + b[i]
	}
	return out
}

func scaled(x []float64, by float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = by * v
	}
	return out
}

func exact(v float64, unit string) response.Figure { return response.Figure{Value: v, Unit: unit} }
