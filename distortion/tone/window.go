package tone

import (
	"math"

	hann "github.com/mjibson/go-dsp/window"
)

// window weights the samples of a fit, symmetrically about the middle.
type window struct {
	weight []float64
	total  float64 // Σw
	square float64 // Σw²
	second float64 // Σw t², t from the middle
	fourth float64 // Σw² t²
}

// newWindow is the Hann window, w = (1 + cos(2πt/(N−1)))/2.
func newWindow(n int) window {
	w := window{weight: hann.Hann(n)}
	middle := float64(n-1) / 2
	for i, v := range w.weight {
		t := float64(i) - middle
		w.total += v
		w.square += v * v
		w.second += v * t * t
		w.fourth += v * v * t * t
	}
	return w
}

// at is Σ w cos(θt) in closed form.
func (w window) at(theta float64) float64 {
	n := len(w.weight)
	turn := 2 * math.Pi / float64(n-1)
	return dirichlet(theta, n)/2 + (dirichlet(theta+turn, n)+dirichlet(theta-turn, n))/4
}

// bandwidth is the equivalent noise bandwidth in Hz: fs Σw² / (Σw)². A line's
// quadrature amplitude has the variance of the noise in it.
func (w window) bandwidth(sampleRate float64) float64 {
	return sampleRate * w.square / (w.total * w.total)
}

// dirichlet is Σ cos(θt) over n samples centred on zero, for |θ| < 2π.
func dirichlet(theta float64, n int) float64 {
	if math.Abs(theta) < 1e-12 {
		return float64(n)
	}
	return math.Sin(float64(n)*theta/2) / math.Sin(theta/2)
}
