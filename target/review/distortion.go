package review

import (
	"math"
	"slices"

	"example.com/earnest/distortion"
)

// THD returns the side's total harmonic distortion relative to the fundamental at f Hz, averaged
// over its seatings by [distortion.MeanTHD]. Its level is not set.
func (s *Side) THD(f float64) distortion.THD {
	var seatings []distortion.THD
	for _, r := range s.Seatings {
		seatings = append(seatings, r.Harmonics.THD(f))
	}
	return distortion.MeanTHD(seatings...)
}

// everyTHD returns THD at every fundamental; nil if distortion is known in no seating.
func (s *Side) everyTHD() (out []distortion.THD) {
	known := slices.IndexFunc(s.Seatings, func(r *Reading) bool { return len(r.Harmonics.Fundamental) > 0 })
	if known < 0 {
		return nil // without a floor there are no harmonics
	}
	for _, f := range s.Seatings[known].Harmonics.Fundamental {
		out = append(out, s.THD(f))
	}
	return out
}

// thd returns total harmonic distortion of the worse side at every frequency at which it was read.
func (r *Results) thd() []distortion.THD {
	sound := math.NaN()
	if r.Sound != nil && r.Sound.SweepLevel.Known() {
		sound = r.Sound.SweepLevel.Value
	}
	var out []distortion.THD
	for _, side := range r.Sides() {
		for k, t := range side.everyTHD() {
			if k == len(out) {
				out = append(out, t)
			} else if t.AsRead > out[k].AsRead || math.IsNaN(out[k].AsRead) {
				out[k] = t
			}
			out[k].Level = sound
		}
	}
	return slices.DeleteFunc(out, func(t distortion.THD) bool { return math.IsNaN(t.AsRead) })
}
