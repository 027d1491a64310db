package bench

import (
	"math/cmplx"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/rig"
	"example.com/earnest/response"
)

// findTruth computes the response of the simulated pair at this level, without reflections and in
// the ideal position. Without the direct recording, 0 dB means full scale for full scale, which is
// the same level on this rig.
func (r *Result) findTruth() {
	r.Truth = response.Curve{Frequency: Grid, Level: make([]float64, len(Grid)), Valid: audible,
		Reference: r.Response.Reference}
	perfect, h := ideal(), pair(r.Settings.Conditions)
	for i, f := range Grid {
		r.Truth.Level[i] = decibels(perfect.TruthAt(h, rig.Left, 0, f, r.Sweep.Amplitude()))
	}
}

// trueHarmonics returns the harmonics of pair and interface at the level played, in dB re the
// fundamental, by order from the second. Orders without any source are not known, since they have
// no level.
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

// decibels returns the level of a gain in dB; not known for a gain of zero.
func decibels(h complex128) float64 { return decibel.OfAmplitude(cmplx.Abs(h)) }
