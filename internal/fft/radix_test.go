package fft

import (
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/dsp/fourier"
)

func TestRadixEqualsGonum(t *testing.T) {
	random := rand.New(rand.NewPCG(2, 3))
	for n := 1; n <= 1<<14; n *= 2 {
		x := make([]complex128, n)
		for i := range x {
			x[i] = complex(random.NormFloat64(), random.NormFloat64())
		}
		want := fourier.NewCmplxFFT(n).Coefficients(nil, x)
		NewRadix(n).Another().Transform(x)
		for k := range x {
			require.InDelta(t, 0, cmplx.Abs(x[k]-want[k]), 1e-10, "n=%d; rounding of 14 stages on values of some 100", n)
		}
	}
}

func TestRadixOfWrongLength(t *testing.T) {
	assert.Panics(t, func() { NewRadix(12) })
	assert.Panics(t, func() { NewRadix(8).Transform(make([]complex128, 4)) })
}

func BenchmarkRadix(b *testing.B) {
	x := make([]complex128, 4096)
	r := NewRadix(len(x))
	for b.Loop() {
		r.Transform(x)
	}
}
