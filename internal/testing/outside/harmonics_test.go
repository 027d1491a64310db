package outside

import (
	"fmt"
	"math"
	"math/cmplx"

	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

const (
	orders = 5
	// Harmonics below this level, relative to the fundamental, or above that frequency do not
	// count: they are near folding and the steep ends of the filters for four times the rate.
	lowestHarmonic  = -80.0
	highestHarmonic = 18000.0
)

// harmonics compares the harmonics of a static curve with its Fourier coefficients. A filter before
// it scales the tone, and one behind it each order.
func (m *measurement) harmonics(r *capture.Recording) {
	parts, err := m.bench.deconvolver.Separate(m.bench.played(m.withoutOffset(r.Channels[0]), sweep.Left))
	require.NoError(m, err)
	hs, err := distortion.Harmonics(parts, distortion.Config{Orders: orders})
	require.NoError(m, err)
	window, err := parts.Linear.Window(0, 0)
	require.NoError(m, err)
	t := window.Transfer()
	a := m.bench.stimulus.Sweep().Amplitude()
	var worst, fundamental float64
	at := ""
	for _, f := range response.LogGrid(100, 6000, 6) {
		truth := m.orders(a, f)
		fundamental = max(fundamental, math.Abs(decibel(cmplx.Abs(t.At(f))*a/truth[1])))
		for n := 2; n <= orders; n++ {
			want := decibel(truth[n] / truth[1])
			if float64(n)*f > highestHarmonic || want < lowestHarmonic {
				continue
			}
			// Not known, NaN, counts as the largest error.
			if e := math.Abs(hs.Harmonic(n, f).AsRead - want); !(e <= worst) {
				worst, at = e, fmt.Sprintf(" (order %d of %.0f Hz: %.2f dB for %.2f dB)", n, f, hs.Harmonic(n, f).AsRead, want)
			}
		}
	}
	m.note("harmonics 2–5", "dB", 0.2, worst, at)                        // twice the error for exact harmonics
	m.note("fundamental of what is clipped", "dB", 0.1, fundamental, "") // it must not contain the third harmonic
}

// orders returns the amplitudes of the harmonics of a tone of amplitude a at f Hz.
func (m *measurement) orders(a, f float64) []float64 {
	before, middle, behind := m.chain.apart()
	out := middle.curve.amplitudes(a*cmplx.Abs(product(before, f, m.chain.rate)), f, orders)
	for n := 1; n <= orders; n++ {
		out[n] *= cmplx.Abs(product(behind, float64(n)*f, m.chain.rate))
	}
	return out
}

// withoutOffset subtracts the mean of the silence, which a shifted curve has and no recorder passes
// on.
func (m *measurement) withoutOffset(x []float64) []float64 {
	quiet := x[m.chain.rate/5 : m.chain.rate/2]
	mean := 0.0
	for _, v := range quiet {
		mean += v / float64(len(quiet))
	}
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = v - mean
	}
	return out
}
