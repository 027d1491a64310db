package response

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"example.com/earnest/internal/decibel"
)

// NoiseAt returns the rms noise at f Hz in the Transfer of h, full scale per full scale. It is the
// two-sided density of the noise, S fs/2 a sample, summed over the squared window with which h was
// cut out, and divided by the spectrum of the signal by which h was deconvolved. It is NaN for a
// response that does not come from a Deconvolver, for noise at another sample rate, and where the
// noise is not known.
func (h *Impulse) NoiseAt(n *Noise, f float64) float64 {
	if h.by == nil || n.sampleRate != h.SampleRate {
		return math.NaN()
	}
	return math.Sqrt(h.energy()*n.density(f)*float64(h.SampleRate)/2) / h.by.level(f)
}

// energy returns the sum of the squared weights of the window, in samples.
func (h *Impulse) energy() float64 {
	if h.window > 0 {
		return h.window
	}
	return float64(len(h.Samples))
}

// Floor returns the level of NoiseAt in dB at the frequencies of a grid: the level in a Transfer of
// h from a recording of noise only. Curve.MaskBelow takes it. It returns an error for a response
// that does not come from a Deconvolver, and for noise at another sample rate.
func (h *Impulse) Floor(n *Noise, grid []float64) (Curve, error) {
	switch {
	case h.by == nil:
		return Curve{}, errors.New(
			"response: the impulse response has no sweep, so its floor is not known; take it from a Deconvolver")
	case n.sampleRate != h.SampleRate:
		return Curve{}, fmt.Errorf("response: noise at %d Hz in a response at %d Hz; record both at one rate",
			n.sampleRate, h.SampleRate)
	}
	level := make([]float64, len(grid))
	for i, f := range grid {
		level[i] = decibel.OfAmplitude(h.NoiseAt(n, f))
	}
	return Curve{Frequency: slices.Clone(grid), Level: level, Reference: "full scale per full scale",
		Valid: h.by.band}, nil
}

// MaskBelow returns the curve in which every level that is less than margin dB above the floor is
// not known. Where the floor itself is not known the level stays.
func (c Curve) MaskBelow(floor Curve, margin float64) Curve {
	out := c.clone()
	for i, f := range c.Frequency {
		if c.Level[i] < floor.At(f)+margin {
			out.Level[i] = math.NaN()
		}
	}
	return out
}
