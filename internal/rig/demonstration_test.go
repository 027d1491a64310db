package rig

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// The pair has the faults in its description.
func TestDemonstrationAsDescribed(t *testing.T) {
	h, rivals, r := Demonstration()
	level := func(side Side, f float64) float64 { return dB(h.Response(side, f, fs)) }
	middle := level(Left, 1000)
	assert.InDelta(t, 3, level(Left, 50)-middle, 0.7, "bass; neighbouring filters")
	assert.InDelta(t, -4, level(Left, 3400)-middle, 1, "dip; neighbouring filters")
	assert.InDelta(t, 5, level(Left, 8500)-middle, 1, "peak; neighbouring filters")
	assert.InDelta(t, 0.4, level(Left, 100)-level(Right, 100), 0.05, "left–right")
	assert.InDelta(t, 0.8, level(Left, 2000)-level(Right, 2000), 0.05, "left–right around 2 kHz")
	u := math.Pow(10, -12./20)
	harmonic := func(order int, f float64) float64 {
		return dB(h.Left.Distortion.Harmonic(order, u*math.Pow(10, dB(heavyBass.Response(f, fs))/20))) -
			dB(complex(u*math.Pow(10, dB(heavyBass.Response(f, fs))/20), 0))
	}
	assert.InDelta(t, -60, harmonic(2, 1000), 0.3, "what the shelf leaves at 1 kHz")
	assert.InDelta(t, -70, harmonic(3, 1000), 0.3, "what the shelf leaves at 1 kHz")
	assert.InDelta(t, -51, harmonic(2, 25), 1.5, "the fourth order adds")
	assert.InDelta(t, -52, harmonic(3, 25), 1.5, "the fifth order adds")
	assert.Len(t, rivals, 2)
	assert.NotEmpty(t, r.Name)
	for _, rate := range []int{44100, 96000} {
		other := r
		other.SampleRate = rate
		assert.Len(t, other.Through(h, 0, Music(rate, 0.1, 1)), 2)
		assert.InDelta(t, dB(r.Truth(h, Left, 0, 1000)), dB(other.Truth(h, Left, 0, 1000)), 0.1, "bilinear filters differ little at 1 kHz")
	}

	// A sweep at −12 dBFS does not clip on any of them.
	for _, pair := range append(rivals, h) {
		for f := 20.0; f < 20000; f *= 1.05 {
			for _, side := range []Side{Left, Right} {
				assert.Less(t, dB(r.Response(pair, side, 0, f)), 11.0, "%s at %v Hz", pair.Name, f)
			}
		}
	}
}
