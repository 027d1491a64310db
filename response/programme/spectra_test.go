//go:build !race

package programme_test

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/known"
	"example.com/earnest/response/programme"
)

// residues is the signal of testdata/reference/programme.py.
func residues(count, a, b int) []float64 {
	x := make([]float64, count)
	for i := range x {
		x[i] = float64((a*i*i+b*i)%65537)/32768 - 1
	}
	return x
}

func TestSpectraEqualSciPy(t *testing.T) {
	var cases []struct {
		SampleRate                            float64
		Len, Hop                              int
		Frequency, Direct, Through, Coherence []float64
		CrossReal, CrossImag                  []float64
		H1Real, H1Imag, H2Real, H2Imag        []float64
		TLSReal, TLSImag                      []float64
	}
	known.Values(t, "programme.json", &cases)
	require.Len(t, cases, 4)
	x, z := residues(3000, 7919, 104729), residues(3000, 6101, 15487)
	y := make([]float64, len(x))
	for i := range y {
		y[i] = 0.3 * z[i]
		if i >= 3 {
			y[i] += 0.5 * x[i-3]
		}
		if i >= 4 {
			y[i] -= 0.2 * x[i-4]
		}
	}
	const tolerance = 1e-10 // relative, as required; rounding is far less
	for _, c := range cases {
		s := programme.Welch(x, y, c.SampleRate, c.Len, c.Hop)
		h1, h2, tls, g := s.H1(), s.H2(), s.TotalLeastSquares(0.25), s.Coherence()
		require.Len(t, g, len(c.Frequency))
		for k := range c.Frequency {
			assert.InEpsilon(t, c.Frequency[k]+1, s.Frequency(k)+1, tolerance, "1 added, for one is 0")
			assert.InEpsilon(t, c.Direct[k], s.Direct[k], tolerance)
			assert.InEpsilon(t, c.Through[k], s.Through[k], tolerance)
			assert.InEpsilon(t, c.Coherence[k], g[k], tolerance)
			near := func(re, im []float64, got complex128) {
				assert.Less(t, cmplx.Abs(got-complex(re[k], im[k])), tolerance*cmplx.Abs(got), "bin %d of %d", k, c.Len)
			}
			near(c.CrossReal, c.CrossImag, s.Cross[k])
			near(c.H1Real, c.H1Imag, h1[k])
			near(c.H2Real, c.H2Imag, h2[k])
			near(c.TLSReal, c.TLSImag, tls[k])
		}
	}
}

// H1, H2 and total least squares are each unbiased with the noise that they are for.
func TestEachEstimateIsUnbiasedInItsNoise(t *testing.T) {
	const n, count, gain = 256, 200000, 0.5
	random := rand.New(rand.NewPCG(1, 2))
	clean := make([]float64, count)
	for i := range clean {
		clean[i] = random.NormFloat64()
	}
	noisy := func(scale, noise float64) []float64 {
		out := make([]float64, count)
		for i, v := range clean {
			out[i] = scale*v + noise*random.NormFloat64()
		}
		return out
	}
	mean := func(h []complex128) (m float64) {
		for _, v := range h[2 : len(h)-2] {
			m += cmplx.Abs(v) / float64(len(h)-4)
		}
		return m
	}
	const tolerance = 0.004 // 4 standard errors of the mean over 125 bins of 1560 segments
	throughOnly := programme.Welch(noisy(1, 0), noisy(gain, 0.5), 48000, n, n/2)
	assert.InDelta(t, gain, mean(throughOnly.H1()), tolerance)
	assert.InDelta(t, gain*2, mean(throughOnly.H2()), tolerance*3, "Snn = gain² Sxx: γ² is 1/2 and H2 = H1/γ² (Bendat & Piersol)")
	directOnly := programme.Welch(noisy(1, 0.5), noisy(gain, 0), 48000, n, n/2)
	assert.InDelta(t, gain, mean(directOnly.H2()), tolerance)
	assert.InDelta(t, gain/1.25, mean(directOnly.H1()), tolerance, "low by 1 + noise/signal (Bendat & Piersol)")
	both := programme.Welch(noisy(1, 0.5), noisy(gain, 0.25), 48000, n, n/2)
	assert.InDelta(t, gain, mean(both.TotalLeastSquares(0.25)), tolerance)
	assert.Greater(t, mean(both.H2()), gain+10*tolerance)
	assert.Less(t, mean(both.H1()), gain-10*tolerance)
}

// The random error by the formula equals the scatter over repetitions.
func TestRandomErrorIsTheScatter(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	const n, count, runs = 64, 64 * 20, 400
	var square, stated, averages float64
	for range runs {
		x, y := make([]float64, count), make([]float64, count)
		for i := range x {
			x[i] = random.NormFloat64()
			y[i] = x[i] + 0.3*random.NormFloat64()
		}
		s := programme.Welch(x, y, 1, n, n/2)
		h, e := s.H1(), s.RandomError()
		for k := 4; k < n/2-4; k++ {
			d := cmplx.Abs(h[k]) - 1
			square += d * d / (runs * (n/2 - 8))
			stated += e[k] * e[k] / (runs * (n/2 - 8))
		}
		averages = s.EffectiveAverages()
	}
	assert.InEpsilon(t, math.Sqrt(square), math.Sqrt(stated), 0.05, "the formula is for many averages; here are 37")
	assert.InDelta(t, 37.0, averages, 0.5, "39 segments with ρ = 1/6 between neighbours: 39/(1 + 2/36)")
}

// The spectra of one segment follow their definition, for lengths that are powers of two, which
// have code of their own, and for another length.
func TestSpectraOfOneSegmentAreTheDefinition(t *testing.T) {
	for _, n := range []int{4, 8, 64, 100, 1024, 2048} {
		x := make([]float64, 3*n)
		for i := range n {
			x[i] = math.Sin(float64(i*i%91) + 1)
		}
		y := append(make([]float64, 1), x[:len(x)-1]...)
		direct := func(f float64) complex128 { // of the segment under the window, by definition
			var sum complex128
			for i, v := range x[:n] {
				w := 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(n))
				sum += complex(w*v, 0) * cmplx.Rect(1, -2*math.Pi*f*float64(i))
			}
			return sum
		}
		s := programme.Welch(x[:n], y[:n], 1, n, n)
		for k := 1; k < n/2; k += max(1, n/50) {
			h := direct(float64(k) / float64(n))
			want := (real(h)*real(h) + imag(h)*imag(h)) * 2 / (3. / 8 * float64(n))
			assert.InDelta(t, want, s.Direct[k], 1e-12*float64(n), "rounding")
		}
	}
}

func TestSpectraPanicOnWrongLengths(t *testing.T) {
	x := make([]float64, 100)
	assert.Panics(t, func() { programme.Welch(x, x[1:], 48000, 10, 5) })
	assert.Panics(t, func() { programme.Welch(x, x, 48000, 200, 5) })
	assert.Panics(t, func() { programme.Welch(x, x, 48000, 11, 5) })
	assert.Panics(t, func() { programme.Welch(x, x, 48000, 10, 0) })
}
