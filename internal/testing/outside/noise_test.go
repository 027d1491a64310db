package outside

import (
	"math"
	"math/cmplx"

	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

// noisy compares the added noise, shaped by the effects behind it, with the noise from the silence.
// It also compares the effect on the response with the prediction.
func (m *measurement) noisy(r *capture.Recording) {
	take, err := located(r, m.bench.stimulus).Take(2, sweep.Right)
	require.NoError(m, err)
	n, err := response.NewNoise(take.Silence, m.chain.rate)
	require.NoError(m, err)
	band := response.Band{Low: 20, High: 20000}
	// 0.5 s of 20 kHz have 20 000 degrees of freedom, and a standard deviation of 0.04 dB; filters
	// behind the noise leave fewer.
	m.note("noise, 20 Hz–20 kHz", "dB", 0.3, math.Abs(10*math.Log10(n.Power(band)/m.noisePower(band))))
	// Its density scatters by more, and the response's own bins are some 10 000.
	m.note("noise in the response re the predicted noise", "dB", 1, math.Abs(10*math.Log10(m.excess(m.taken(r), n))))
}

// noisePower returns that within a band.
func (m *measurement) noisePower(b response.Band) float64 {
	_, middle, behind := m.chain.apart()
	sum := 0.0
	for f := b.Low + 0.5; f < b.High; f++ {
		h := cmplx.Abs(product(behind, f, m.chain.rate))
		sum += h * h
	}
	a := middle.noise.amplitude
	return sum * a * a / 3 / (float64(m.chain.rate) / 2)
}

// excess returns the power of the error of the response, relative to that expected from the noise:
// half of its power is in phase with the response and moves its magnitude.
func (m *measurement) excess(window *response.Impulse, n *response.Noise) float64 {
	t := window.Transfer()
	var off, expected float64
	for k := range t.Bins {
		f := t.Frequency(k)
		if f < 30 || f > 18000 {
			continue
		}
		h := cmplx.Abs(m.chain.response(f))
		u := window.NoiseAt(n, f)
		if u > h/10 {
			continue // too much for only half of it to be in phase
		}
		e := (cmplx.Abs(t.Bins[k]) - h) / h
		off += e * e
		expected += u * u / 2 / (h * h)
	}
	return off / expected
}
