package bench

import (
	"math/cmplx"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/rig"
	"example.com/earnest/response"
)

// findTruth works out the response that the simulated pair has at this level,
// in a room without reflections, seated as it was meant to be. Without the
// direct recording, 0 dB is full scale for full scale, which on this rig is the
// same level.
func (r *Result) findTruth() {
	r.Truth = response.Curve{Frequency: Grid, Level: make([]float64, len(Grid)), Valid: audible,
		Reference: r.Response.Reference}
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

// decibels is the level of a gain; it is not known for a gain of zero.
func decibels(h complex128) float64 { return decibel.OfAmplitude(cmplx.Abs(h)) }
