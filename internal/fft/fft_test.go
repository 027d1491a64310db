package fft

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func noise(n int) []float64 {
	random := rand.New(rand.NewPCG(1, uint64(n)))
	x := make([]float64, n)
	for i := range x {
		x[i] = random.NormFloat64()
	}
	return x
}

// The definition of the transform, summed term by term.
func TestForwardEqualsTheSum(t *testing.T) {
	for _, n := range []int{1, 2, 3, 8, 15, 60} {
		x := noise(n)
		got := NewPlan(n).Forward(nil, x)
		require.Len(t, got, n/2+1)
		for k := range got {
			var want complex128
			for i, v := range x {
				want += complex(v, 0) * cmplx.Rect(1, -2*math.Pi*float64(i*k)/float64(n))
			}
			assert.InDelta(t, 0, cmplx.Abs(got[k]-want), 1e-12, "n=%d k=%d; rounding of 60 terms", n, k)
		}
	}
}

func TestInverseUndoesForward(t *testing.T) {
	for _, n := range []int{2, 30, 1000, 65536} {
		p, x := NewPlan(n), noise(n)
		back := p.Inverse(nil, p.Forward(nil, x))
		for i := range x {
			require.InDelta(t, x[i], back[i], 1e-12, "n=%d; double precision over log2 n stages", n)
		}
	}
}

func TestShortSequenceIsFollowedByZeros(t *testing.T) {
	x := noise(10)
	padded := append(append([]float64{}, x...), make([]float64, 6)...)
	assert.Equal(t, NewPlan(16).Forward(nil, padded), NewPlan(16).Forward(nil, x))
	assert.Panics(t, func() { NewPlan(8).Forward(nil, x) })
	assert.Panics(t, func() { NewPlan(0) })
}

func TestFastLenIsTheSmallest(t *testing.T) {
	smooth := func(n int) bool {
		for _, p := range []int{2, 3, 5} {
			for n%p == 0 {
				n /= p
			}
		}
		return n == 1
	}
	for n := 1; n < 3000; n++ {
		want := max(2, n+n%2)
		for !smooth(want) {
			want += 2
		}
		require.Equal(t, want, FastLen(n), "n=%d", n)
	}
}

func TestPlanIsSharedByGoroutines(t *testing.T) {
	p, x := NewPlan(600), noise(600)
	want := p.Forward(nil, x)
	var wait sync.WaitGroup
	for range 8 {
		wait.Go(func() {
			for range 50 {
				assert.Equal(t, want, p.Forward(nil, x))
			}
		})
	}
	wait.Wait()
}

func BenchmarkForward(b *testing.B) {
	for _, n := range []int{65536, FastLen(600000), FastLen(1300000)} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			p, x := NewPlan(n), noise(n)
			dst := p.Forward(nil, x)
			b.SetBytes(int64(8 * n))
			b.ReportAllocs()
			for b.Loop() {
				p.Forward(dst, x)
			}
		})
	}
}
