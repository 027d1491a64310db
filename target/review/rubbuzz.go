package review

import (
	"math"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/response/capture/placement"
)

// mostCrest is the crest factor in dB of a residue from which it counts as clicks. Noise and steady
// harmonics stay below 13 dB (the largest of as many samples as a frame has).
const mostCrest = 14

// Rattle is a frequency at which the residue above the tenth harmonic is clear of its floor and has
// the crest factor of clicks.
type Rattle struct {
	// Frequency of the sweep in Hz, Level the residue's root mean square in dB relative to the
	// fundamental, and Crest its crest factor in dB.
	Frequency, Level, Crest float64
}

// askRubBuzz looks for the sound of a loose part in the mean of the side's sweeps, which was
// separated. Without a silence there is no result.
func (b *Bench) askRubBuzz(take *placement.Take, recording []float64, separated *response.Deconvolved,
	averages int) (*distortion.Residue, error) {
	if take.Silence == nil {
		return nil, nil
	}
	c := distortion.Config{Silence: take.Silence, Averages: averages, MaxFrequency: b.config.MaxFrequency}
	return distortion.RubBuzz(separated, recording, c)
}

// Rattles returns those of the first seating in which the residue was measured. It leaves out a
// residue less than 6 dB above its floor or above that of the interface alone.
func (s *Side) Rattles() (found []Rattle) {
	for _, r := range s.Seatings {
		if r.Further == nil || r.Further.RubBuzz == nil {
			continue
		}
		residue := r.Further.RubBuzz
		for i, v := range residue.RMS.Level() {
			own := math.Inf(-1)
			if r.Further.ownRubBuzz != nil {
				own = r.Further.ownRubBuzz.RMS.AsRead[i]
			}
			if !math.IsNaN(v) && v > own+6 && residue.Crest[i] >= mostCrest {
				found = append(found, Rattle{residue.RMS.Fundamental[i], v, residue.Crest[i]})
			}
		}
		return found
	}
	return nil
}
