package bench

import (
	"math"

	"example.com/earnest/internal/rig"
)

// pair returns an invented pair of headphones with too much bass, a broad dip, and a resonance so
// narrow that smoothing hides it. Only the left cup is measured; the right one is flat.
func pair(c Conditions) rig.Headphones {
	d := rig.Driver{
		Filters: []rig.Filter{
			rig.HighPass(12, 0.7),
			rig.LowShelf(110, 0.7, 3),
			rig.Peak(3200, 2, -4),
			rig.Peak(resonance, 20, 8),
			rig.HighShelf(11000, 0.8, -3),
		},
		Distortion: rig.NewPolynomial(distortionAt, c.Second, c.Third, math.Inf(-1), math.Inf(-1)),
	}
	return rig.Headphones{Name: "Quillon Marsh (invented)", Left: d}
}

const (
	resonance    = 6300.0 // Hz
	distortionAt = -12.0  // dBFS, level at which the harmonics have the chosen levels
)

// simulated returns the rig under the given conditions. Its interface is poor, so that the effect
// of the direct recording is visible.
func simulated(c Conditions) rig.Rig {
	r := ideal()
	r.Interface = rig.Interface{
		Filters:    []rig.Filter{rig.HighPass(16, 0.6), rig.Peak(400, 0.6, 0.8), rig.LowPass(19000, 0.65)},
		Distortion: rig.NewPolynomial(-12, -100, -105, math.Inf(-1), math.Inf(-1)),
	}
	r.Latency = 300.4
	r.Noise = rig.Noise{Level: -105}
	r.Drift = c.Drift
	r.Seating = rig.Seating{Leak: c.Spread, Ripple: c.Spread}
	if !math.IsInf(c.Noise, -1) {
		r.Room = rig.Noise{Level: c.Noise, Pink: c.Pink}
	}
	if !math.IsInf(c.Reflection, -1) {
		r.Plate = []rig.Reflection{{Delay: milliseconds(c.Delay), Level: c.Reflection}}
	}
	return r
}

// ideal returns a rig without errors. It measures the truth.
func ideal() rig.Rig {
	return rig.Rig{Name: "flat plate, simulated", SampleRate: sampleRate, Seed: 7}
}

const sampleRate = 48000
