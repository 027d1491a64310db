package fft

import (
	"fmt"
	"math/cmplx"
	"math/rand/v2"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/dsp/fourier"
)

// lengths cover every factor, one piece and rows times columns, whole blocks and remainders, a
// square and one with a prime above 5 (7).
var lengths = []int{1, 2, 3, 4, 5, 6, 15, 30, 60, 64, 125, 1000, 1024, 7 * 9, short, 36000, 40500, 46656, 1 << 16, 5 * 5 * 5 * 5 * 5 * 5 * 5}

func complexNoise(n int) []complex128 {
	random := rand.New(rand.NewPCG(2, uint64(n)))
	x := make([]complex128, n)
	for i := range x {
		x[i] = complex(random.NormFloat64(), random.NormFloat64())
	}
	return x
}

func TestTransformsEqualGonum(t *testing.T) {
	for _, n := range lengths {
		z := complexNoise(n)
		want := fourier.NewCmplxFFT(n).Coefficients(nil, z)
		NewComplex(n).Transform(z)
		for k := range z {
			require.InDelta(t, 0, cmplx.Abs(z[k]-want[k]), 1e-10, "n=%d k=%d; rounding of 17 stages on values of some 1000", n, k)
		}
		if n%2 != 0 {
			continue
		}
		x := noise(n)
		real := fourier.NewFFT(n).Coefficients(nil, x)
		for k, v := range NewPlan(n).Forward(nil, x) {
			require.InDelta(t, 0, cmplx.Abs(v-real[k]), 1e-10, "n=%d k=%d; the same", n, k)
		}
		for i, v := range NewPlan(n).Inverse(nil, real) {
			require.InDelta(t, x[i], v, 1e-13, "n=%d i=%d; the same, divided by n", n, i)
		}
	}
}

// gonum ignores the imaginary parts that a real sequence cannot have, and so do we.
func TestInverseTakesTheEndsAsReal(t *testing.T) {
	spectrum := complexNoise(33)
	want := fourier.NewFFT(64).Sequence(nil, spectrum)
	for i, v := range NewPlan(64).Inverse(nil, spectrum) {
		assert.InDelta(t, want[i]/64, v, 1e-13, "rounding")
	}
}

func TestNoiseIsTheSameOnAnyNumberOfProcessors(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	x, p := noise(90000), NewPlan(90000)
	var want []complex128
	for _, processors := range []int{1, 2, 5} {
		runtime.GOMAXPROCS(processors)
		got := p.Forward(nil, x)
		if want == nil {
			want = got
		}
		require.Equal(t, want, got, "%d processors", processors)
	}
}

func TestZerosFollowALongSequence(t *testing.T) {
	x := noise(70001)
	padded := append(append([]float64{}, x...), make([]float64, 19999)...)
	require.Equal(t, NewPlan(90000).Forward(nil, padded), NewPlan(90000).Forward(nil, x))
}

func TestWrongLengthsPanic(t *testing.T) {
	assert.Panics(t, func() { NewComplex(0) })
	assert.Panics(t, func() { NewComplex(8).Transform(make([]complex128, 4)) })
	p := NewPlan(8)
	assert.Panics(t, func() { p.Forward(make([]complex128, 4), make([]float64, 8)) })
	assert.Panics(t, func() { p.Inverse(nil, make([]complex128, 4)) })
	assert.Panics(t, func() { p.Inverse(make([]float64, 9), make([]complex128, 5)) })
}

// The same transform by gonum, for the ratio.
func BenchmarkGonum(b *testing.B) {
	for _, n := range []int{65536, FastLen(600000), FastLen(1300000)} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			f, x := fourier.NewFFT(n), noise(n)
			dst := f.Coefficients(nil, x)
			b.SetBytes(int64(8 * n))
			for b.Loop() {
				f.Coefficients(dst, x)
			}
		})
	}
}

func BenchmarkComplex(b *testing.B) {
	for _, n := range []int{4096, 1 << 17} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			c, z := NewComplex(n), complexNoise(n)
			b.SetBytes(int64(16 * n))
			for b.Loop() {
				c.Transform(z)
			}
		})
	}
}
