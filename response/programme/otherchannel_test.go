//go:build !race

package programme_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response/programme"
)

// Of y = x + g z + n, with x and z of one power and n of the power p, x explains all but
// g² + p, and z explains g² of that. A z that holds x too explains no less.
func TestShareOfTheOtherChannel(t *testing.T) {
	random := rand.New(rand.NewPCG(14, 4))
	noise := func(rms float64) []float64 {
		x := make([]float64, 48000*4)
		for i := range x {
			x[i] = rms * random.NormFloat64()
		}
		return x
	}
	for _, c := range []struct{ g, n, common, share float64 }{
		{0.3, 0.03, 0, 0.09 / 0.0909},
		{0.3, 0.3, 0, 0.5},
		{0.3, 0.3, 2, 0.5},
		{0, 0.3, 0, 0},
	} {
		x, z, y := noise(0.05), noise(0.05), noise(0.05*c.n)
		for i := range x {
			if i >= 100 {
				y[i] += x[i-100] + c.g*z[i-100]
			}
		}
		for i := range z {
			z[i] += c.common * x[i]
		}
		direct, other, through := channel("direct", x, 48000), channel("other", z, 48000), channel("through", y, 48000)
		got, err := programme.Compare(direct, through, programme.Config{})
		require.NoError(t, err)
		assert.InDelta(t, c.share, got.OtherChannel(direct, other, through), 0.03, "20 000 values of noise; %+v", c)
	}
	x := noise(0.05)
	same, through := channel("direct", x, 48000), channel("through", x, 48000)
	got, err := programme.Compare(same, through, programme.Config{})
	require.NoError(t, err)
	assert.True(t, math.IsNaN(got.OtherChannel(same, same, through)), "the channels are alike")
}
