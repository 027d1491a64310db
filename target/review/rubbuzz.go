package review

import (
	"math"

	"example.com/earnest/distortion"
)

// mostCrest is the crest factor in dB of a residue from which it counts as clicks. Noise and steady
// harmonics stay below 13 dB (the largest of as many samples as a frame has).
const mostCrest = 14

// RubBuzz is the residue above the tenth harmonic at one frequency of the sweep, over the seatings.
type RubBuzz struct {
	// Frequency of the sweep in Hz.
	Frequency float64
	// Level is the root mean square of the residue in dB relative to the fundamental: the mean over
	// the seatings, with their scatter. The residue of the interface is in its floor.
	Level distortion.Reading
	// Crest is the largest crest factor in dB of the seatings in which the residue is clear of its
	// floor; NaN if there are none.
	Crest float64
	// Rattles is the number of seatings in which the residue is clear of its floor and has the
	// crest factor of clicks, out of Seatings in which it was read.
	Rattles, Seatings int
}

// askRubBuzz looks for the sound of a loose part in the mean of the side's sweeps. Without them, or
// without a silence, there is no result.
func (b *Bench) askRubBuzz(s swept) (*distortion.Residue, error) {
	if s.silence == nil || s.mean == nil {
		return nil, nil
	}
	c := distortion.Config{Silence: s.silence, Averages: s.averages, MaxFrequency: b.config.MaxFrequency}
	return distortion.RubBuzz(s.separated, s.mean, c)
}

// rubBuzzAgainst reads the residue, with that of the interface in its floor. Without a direct
// recording of it that is not known.
func (f *Further) rubBuzzAgainst(direct *Further, apart func(f, g float64) float64) {
	if f.RubBuzz == nil {
		return
	}
	for _, at := range f.RubBuzz.RMS.Fundamental {
		own := math.NaN()
		if direct != nil && direct.RubBuzz != nil {
			own = ownLevel(direct.RubBuzz.RMS.At(at))
		}
		f.residue = append(f.residue, f.RubBuzz.RMS.At(at).WithRig(own, apart(float64(f.RubBuzz.Orders+1)*at, at)))
	}
}

// rubBuzz computes Side.RubBuzz.
func (s *Side) rubBuzz() (all []RubBuzz) {
	for _, r := range s.withFurther() {
		for i, f := range r.Further.residue {
			if i == len(all) {
				all = append(all, RubBuzz{Frequency: r.Further.RubBuzz.RMS.Fundamental[i], Level: nothing("dB"),
					Crest: math.NaN()})
			}
			one := &all[i]
			if math.IsNaN(f.AsRead) {
				continue
			}
			one.Seatings++
			if crest := r.Further.RubBuzz.Crest[i]; f.Known() {
				if math.IsNaN(one.Crest) || crest > one.Crest {
					one.Crest = crest
				}
				if crest >= mostCrest {
					one.Rattles++
				}
			}
		}
	}
	for i := range all {
		all[i].Level = meanReading(s.withFurther(), func(r *Reading) distortion.Reading {
			if i < len(r.Further.residue) {
				return r.Further.residue[i]
			}
			return nothing("dB")
		})
	}
	return all
}
