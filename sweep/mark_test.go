package sweep_test

import (
	"math"
	"testing"

	"example.com/earnest/internal/fft"
	"example.com/earnest/sweep"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestMarkFallsFrom8kHzTo500HzIn200ms(t *testing.T) {
	for _, c := range []struct {
		rate int
		high float64 // Hz
	}{{8000, 2000}, {44100, 8000}, {48000, 8000}, {192000, 8000}} {
		s := mustNew(t, sweep.Config{SampleRate: c.rate, Stop: 3000, Level: -12})
		x := s.Mark()
		require.Len(t, x, c.rate/5)
		var peak float64
		for _, v := range x {
			peak = max(peak, math.Abs(v))
		}
		assert.InDelta(t, -12, 20*math.Log10(peak), 0.2, "the level, at a crest near the middle of the Hann weight")
		assert.Less(t, max(math.Abs(x[0]), math.Abs(x[len(x)-1])), 1e-6, "it starts and ends without a click")
		// Half of the zero crossings, two to a period, come by the middle in log time.
		crossings := 0
		for i := 1; i < len(x); i++ {
			if (x[i-1] < 0) != (x[i] < 0) {
				crossings++
			}
		}
		cycles := 0.2 * (c.high - 500) / math.Log(c.high/500) // ∫ f dt of an exponential fall
		assert.InDelta(t, cycles, float64(crossings)/2, 1, "%d Hz; half a turn at each end", c.rate)
		first, last := instantaneous(x[:len(x)/4], c.rate), instantaneous(x[3*len(x)/4:], c.rate)
		assert.Greater(t, first, 1.3*last, "it falls")
	}
}

// instantaneous returns the mean frequency in Hz by zero crossings.
func instantaneous(x []float64, rate int) float64 {
	n := 0
	for i := 1; i < len(x); i++ {
		if (x[i-1] < 0) != (x[i] < 0) {
			n++
		}
	}
	return float64(n) / 2 * float64(rate) / float64(len(x))
}

// The requirements of the mark: two of them give the ratio of two clocks, and no part of it
// resembles the sweep.
func TestMarkIsSharpAndUnlikeTheSweep(t *testing.T) {
	s := mustNew(t, sweep.Config{})
	mark, x := s.Mark(), s.Samples()
	p := fft.NewPlan(fft.FastLen(len(mark) + len(x)))
	reference := p.Forward(nil, mark)
	correlate := func(y []float64) []float64 {
		spectrum := p.Forward(nil, y)
		for k, v := range reference {
			spectrum[k] *= complex(real(v), -imag(v))
		}
		return p.Inverse(nil, spectrum)
	}
	itself := correlate(mark)
	width := 0
	for width < len(itself) && itself[width] > itself[0]/2 {
		width++
	}
	assert.LessOrEqual(t, 2*float64(width)/48000, 2e-4, "half of the peak within 0.1 ms on either side")
	var like float64
	for _, v := range correlate(x) {
		like = max(like, math.Abs(v))
	}
	assert.Less(t, 20*math.Log10(like/itself[0]), -10.0, "a pass of the sweep over the mark is a flat correlation")
}
