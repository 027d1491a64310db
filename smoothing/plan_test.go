package smoothing_test

import (
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"

	"example.com/earnest/smoothing"
)

// bins returns the grid of a Fourier transform without its 0 Hz.
func bins(n int, spacing float64) []float64 {
	f := make([]float64, n)
	for i := range f {
		f[i] = spacing * float64(i+1)
	}
	return f
}

func logGrid(low, high float64, n int) []float64 {
	return floats.LogSpan(make([]float64, n), low, high)
}

func scattered(rng *rand.Rand, n int) []float64 {
	f := make([]float64, n)
	for i, x := 0, 1.0; i < n; i++ {
		x += 0.1 * rng.ExpFloat64()
		f[i] = 10 * x * x
	}
	return f
}

func octave(t testing.TB, frequency, centre []float64, fraction float64) *smoothing.Plan {
	t.Helper()
	p, err := smoothing.NewOctave(frequency, centre, fraction)
	require.NoError(t, err)
	return p
}

func erb(t testing.TB, frequency, centre []float64, factor float64) *smoothing.Plan {
	t.Helper()
	p, err := smoothing.NewERB(frequency, centre, factor)
	require.NoError(t, err)
	return p
}

func TestPlanIsSafeForConcurrentUse(t *testing.T) {
	frequency := bins(3000, 8)
	p := octave(t, frequency, frequency, 12)
	inputs, wants := make([][]float64, 8), make([][]float64, 8)
	for g := range inputs {
		rng := rand.New(rand.NewPCG(uint64(g), 0))
		inputs[g] = make([]float64, len(frequency))
		for i := range inputs[g] {
			inputs[g][i] = rng.Float64()
		}
		if g%2 == 1 {
			inputs[g][rng.IntN(len(frequency))] = math.NaN()
		}
		wants[g] = octave(t, frequency, frequency, 12).Mean(nil, inputs[g])
	}
	var wait sync.WaitGroup
	for g := range inputs {
		wait.Go(func() {
			var got []float64
			for range 20 {
				got = p.Mean(got, inputs[g])
				for i, want := range wants[g] {
					if got[i] != want && !(math.IsNaN(got[i]) && math.IsNaN(want)) {
						t.Errorf("curve %d, output %d: %v alone, %v among others", g, i, want, got[i])
						return
					}
				}
			}
		})
	}
	wait.Wait()
}
