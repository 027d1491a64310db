package capture_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/response/capture"
)

// A sine at one rate is the same sine at another, in closed form: x(t) = sin(2πft).
func TestResampledSine(t *testing.T) {
	for _, c := range []struct{ from, to int }{{44100, 48000}, {48000, 44100}, {96000, 48000}, {48000, 96000}, {44100, 192000}} {
		top := capture.ResampledShare * float64(min(c.from, c.to)) / 2
		for _, f := range []float64{20, 1000, top} {
			x := make([]float64, c.from/5)
			for i := range x {
				x[i] = math.Sin(2 * math.Pi * f * float64(i) / float64(c.from))
			}
			r := (&capture.Recording{Name: "sine.wav", SampleRate: c.from, Channels: [][]float64{x}}).Resampled(c.to)
			assert.Equal(t, c.to, r.SampleRate)
			assert.Equal(t, c.from, r.FromRate)
			assert.InDelta(t, 0.2, r.Duration(), 1e-3, "s")
			var worst float64
			for i := r.Len() / 4; i < r.Len()*3/4; i++ { // away from the ends
				worst = max(worst, math.Abs(r.Channels[0][i]-math.Sin(2*math.Pi*f*float64(i)/float64(c.to))))
			}
			assert.Less(t, 20*math.Log10(1+worst), capture.ResampledRipple, "dB; %d to %d Hz at %.0f Hz", c.from, c.to, f)
		}
	}
}

// Frequencies that the lower rate cannot hold are removed, and not mirrored below the stated share.
func TestResampledHasNoMirrorImages(t *testing.T) {
	x := make([]float64, 19200)
	for i := range x {
		x[i] = math.Sin(2 * math.Pi * 27000 * float64(i) / 96000)
	}
	r := (&capture.Recording{SampleRate: 96000, Channels: [][]float64{x}}).Resampled(48000)
	var most float64
	for _, v := range r.Channels[0][2000:7000] {
		most = max(most, math.Abs(v))
	}
	assert.Less(t, most, 1e-4, "the window's attenuation of 100 dB, and a little")
}
