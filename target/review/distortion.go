package review

import (
	"math"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
)

// THD returns the side's total harmonic distortion relative to the fundamental at f Hz: the mean
// over its seatings, as [distortion.MeanTHD] has it. Its level is not filled in.
func (s *Side) THD(f float64) distortion.THD {
	var seatings []distortion.THD
	for _, r := range s.Seatings {
		seatings = append(seatings, r.Harmonics.THDAt(f))
	}
	return distortion.MeanTHD(seatings...)
}

// THDByOctave returns THD at octaves of 1 kHz, from 62.5 Hz to 8 kHz.
func (s *Side) THDByOctave() []distortion.THD {
	var out []distortion.THD
	for _, f := range response.LogGrid(50, 8000, 1) {
		out = append(out, s.THD(f))
	}
	return out
}

// thd returns total harmonic distortion of the worse side at octaves of 1 kHz.
func (r *Results) thd() []distortion.THD {
	sound := math.NaN()
	if r.Sound != nil && r.Sound.SweepLevel.Known() {
		sound = r.Sound.SweepLevel.Value
	}
	var out []distortion.THD
	for _, f := range response.LogGrid(50, 8000, 1) {
		worst := distortion.THD{Reading: distortion.Reading{AsRead: math.NaN()}}
		for _, side := range r.Sides() {
			if t := side.THD(f); t.AsRead > worst.AsRead || math.IsNaN(worst.AsRead) {
				worst = t
			}
		}
		if !math.IsNaN(worst.AsRead) {
			worst.Level = sound
			out = append(out, worst)
		}
	}
	return out
}
