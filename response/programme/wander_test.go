//go:build !race

package programme_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/response"
	"example.com/earnest/response/programme"
)

// later returns x read at the places i − delay(i), by Lanczos' kernel of 16 samples to each side,
// whose error is below −60 dB up to 16 kHz at 48 kHz.
func later(x []float64, delay func(i int) float64) []float64 {
	out := make([]float64, len(x))
	for i := range out {
		at := float64(i) - delay(i)
		for k := int(at) - 15; k <= int(at)+16; k++ {
			if t := math.Pi * (at - float64(k)); k >= 0 && k < len(x) {
				kernel := 1.0
				if math.Abs(t) > 1e-9 {
					kernel = 16 * math.Sin(t) * math.Sin(t/16) / (t * t)
				}
				out[i] += kernel * x[k]
			}
		}
	}
	return out
}

// A delay that swings by A is off by A/√2 rms, which takes 8.69 (2πfA)²/4 dB from the treble. A
// clock that differs steadily and a plain delay do not count, nor does noise.
func TestADelayThatWaversIsNamed(t *testing.T) {
	random := rand.New(rand.NewPCG(14, 3))
	wow := func(direct, through []float64) *response.Finding {
		for i := range through {
			through[i] += 1e-4 * random.NormFloat64()
		}
		c, err := try(direct, through, programme.Config{})
		require.NoError(t, err)
		for _, f := range c.Findings {
			if f.Kind == programme.Wow {
				return &f
			}
		}
		return nil
	}
	noisy := music(6, 3)
	for i := range noisy {
		noisy[i] += 3e-3 * random.NormFloat64()
	}
	c, err := try(music(6, 3), noisy, programme.Config{})
	require.NoError(t, err)
	assert.Zero(t, programme.Wander(c.Alignment), "noise may explain all that the delays scatter by")
	for i, x := range [][]float64{music(6, 3), rig.Speech(48000, 6, 3)[0]} {
		assert.Nil(t, wow(x, later(x, func(i int) float64 { return 100.3 + 40e-6*float64(i) })), i)
		for _, reach := range []float64{0.3, 0.8} { // samples
			rate := 0.3 + 0.5*random.Float64() // Hz, slow against a segment
			found := wow(x, later(x, func(i int) float64 {
				return 100.3 + reach*math.Sin(2*math.Pi*rate*float64(i)/48000)
			}))
			if assert.NotNil(t, found, "%d, %v samples", i, reach) {
				rms := 1e6 * reach / math.Sqrt2 / 48000
				assert.InEpsilon(t, rms, found.Figures["delay"].Value, 0.6, "a straight line explains part of a delay that swings so few times, and segments with treble weigh more")
			}
		}
	}
}
