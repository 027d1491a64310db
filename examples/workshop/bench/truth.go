package bench

import (
	"math"
	"math/cmplx"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/rig"
	"example.com/earnest/response"
)

// findTruth works out the response that the simulated pair has at this level,
// in a room without reflections, seated as it was meant to be. Without the
// direct recording, 0 dB is full scale for full scale, which on this rig is the
// same level.
func (r *Result) findTruth() {
	r.Truth = response.Curve{Frequency: Grid, Level: make([]float64, len(Grid)), Valid: audible, Reference: r.Response.Reference}
	perfect, h := ideal(), pair(r.Settings.Conditions)
	for i, f := range Grid {
		r.Truth.Level[i] = decibels(perfect.TruthAt(h, rig.Left, 0, f, r.Sweep.Amplitude()))
	}
}

// trueHarmonics are the harmonics that the pair and the interface have at the
// level played, in dB re the fundamental, by order from the second. Orders that
// nothing makes are left out as not known, for they have no level.
func trueHarmonics(c Conditions, hs *distortion.HarmonicSet) [][]float64 {
	h, a := pair(c), hs.Sweep.Amplitude()
	at := simulated(c)
	at.Plate, at.Seating = nil, rig.Seating{}
	var all [][]float64
	for _, o := range hs.Orders {
		levels := make([]float64, len(hs.Fundamental))
		for i, f := range hs.Fundamental {
			levels[i] = decibels(at.Harmonic(h, rig.Left, 0, o.N, f, a) / at.Harmonic(h, rig.Left, 0, 1, f, a))
		}
		all = append(all, levels)
	}
	return all
}

// decibels is the level of a gain; none at all has no level.
func decibels(h complex128) float64 {
	if h == 0 {
		return math.NaN()
	}
	return 20 * math.Log10(cmplx.Abs(h))
}

func power(c response.Curve) []float64 {
	out := make([]float64, len(c.Level))
	for i, v := range c.Level {
		out[i] = math.Pow(10, v/10)
	}
	return out
}

func fromPower(power []float64, like response.Curve) response.Curve {
	like.Level = make([]float64, len(power))
	for i, p := range power {
		like.Level[i] = 10 * math.Log10(p)
	}
	return like
}
