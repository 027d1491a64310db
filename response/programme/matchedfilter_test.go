//go:build !race

package programme_test

import (
	"example.com/earnest/internal/testing/long"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/rig"
	"example.com/earnest/response/programme"
)

// The bass of a tune repeats. A search that whitens the noise too found each of these tunes one
// repeat away, by 7 to 9 s, and gave no error.
func TestBassOverNoiseIsPlacedRight(t *testing.T) {
	long.Skip(t)
	const fs = 16000
	for _, seed := range []uint64{1, 2, 3, 7, 10} {
		random := rand.New(rand.NewPCG(seed, 7))
		x := rig.Music(fs, 12+8*random.Float64(), seed+100)[0]
		corner := 60 + 140*random.Float64()
		biquad.New(biquad.LowPass, corner, 0.7, 0, fs).Apply(x)
		biquad.New(biquad.LowPass, corner, 0.7, 0, fs).Apply(x)
		floats.Scale(0.5/floats.Norm(x, math.Inf(1)), x)
		for i := range x {
			x[i] += 1e-4 * random.NormFloat64()
		}
		late := int(fs * random.Float64() * 3)
		y := append(make([]float64, late), x...)
		headphones(fs).Apply(y)
		compared := compare(t, x, withNoise(y, 15+9*random.Float64(), seed+1), fs, programme.Config{})
		assert.InDelta(t, float64(late)/fs, compared.Alignment.Delay, 0.002,
			"seed %d: a repeat is seconds away; the phase of bass in noise is worth a millisecond", seed)
	}
}
