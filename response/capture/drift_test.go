package capture_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/response/capture"
)

// A tone read on another clock is a tone of another frequency, with the same level up to 0.92 of
// half the rate.
func TestPlayersClockKeepsLevel(t *testing.T) {
	for _, f := range []float64{100, 5000, 18000, 22000} {
		x := make([]float64, 8192)
		for i := range x {
			x[i] = math.Sin(2 * math.Pi * f / 48000 * float64(i))
		}
		y := capture.Clock{Drift: 250}.Correct(x, 0, 8189) // 8192 / 1.00025 = 8189.95
		var worst float64
		for i := 100; i < len(y)-100; i++ {
			worst = max(worst, math.Abs(y[i]-math.Sin(2*math.Pi*f/48000*float64(i)*(1+250e-6))))
		}
		assert.Less(t, worst, 1.2e-4, "%v Hz; 0.001 dB is 1.15e-4", f)
	}
}

// A corrected stretch equals the same stretch of the corrected whole, with zeros beyond the
// channel.
func TestCorrectStretches(t *testing.T) {
	x := make([]float64, 1000)
	for i := range x {
		x[i] = math.Sin(float64(i * i))
	}
	c := capture.Clock{Drift: -100}
	whole := c.Correct(x, 0, 1000) // 1000 / 0.9999 = 1000.1
	part := c.Correct(x, -5, 1010)
	assert.Equal(t, whole, part[5:1005])
	assert.Equal(t, make([]float64, 5), part[:5])
	assert.Equal(t, make([]float64, 10), part[1005:])
	assert.Equal(t, whole[300:400], c.Correct(x, 300, 400))
}

func BenchmarkCorrect(b *testing.B) {
	x := make([]float64, 20*48000)
	b.SetBytes(20 * 48000 * 8)
	for b.Loop() {
		capture.Clock{Drift: 40}.Correct(x, 0, len(x)-40)
	}
}
