package capture_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/response/capture"
)

// A tone read on another clock is a tone of another frequency, of the same
// level up to 0.92 of half the rate.
func TestPlayersClockKeepsLevel(t *testing.T) {
	for _, f := range []float64{100, 5000, 18000, 22000} {
		x := make([]float64, 8192)
		for i := range x {
			x[i] = math.Sin(2 * math.Pi * f / 48000 * float64(i))
		}
		r := &capture.Recording{SampleRate: 48000, Channels: [][]float64{x}}
		y := r.CorrectDrift(capture.Clock{Drift: 250}).Channels[0]
		var worst float64
		for i := 100; i < len(y)-100; i++ {
			worst = max(worst, math.Abs(y[i]-math.Sin(2*math.Pi*f/48000*float64(i)*(1+250e-6))))
		}
		assert.Less(t, worst, 1.2e-4, "%v Hz; 0.001 dB is 1.15e-4", f)
	}
}

func BenchmarkCorrectDrift(b *testing.B) {
	r := &capture.Recording{SampleRate: 48000, Channels: [][]float64{make([]float64, 20*48000)}}
	b.SetBytes(20 * 48000 * 8)
	for b.Loop() {
		r.CorrectDrift(capture.Clock{Drift: 40})
	}
}
