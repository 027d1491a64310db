package review

import (
	"example.com/earnest/response"
	"example.com/earnest/smoothing"
)

// DecaySpan is the fall in dB of the remaining energy after which the times in Decay are read.
const DecaySpan = -30

// Decay is the time in which the remaining energy of one third octave falls by DecaySpan.
type Decay struct {
	Band smoothing.Band
	Time response.Figure // s
	// Reason says why the time is not known; it is empty if the time is known.
	Reason string
}

// decay returns the decay of every third octave of a reading.
func (r *Reading) decay() ([]Decay, error) {
	if r.Transfer == nil {
		return nil, nil
	}
	decays, err := r.Transfer.Impulse().Decays(response.DecayConfig{})
	if err != nil {
		return nil, err
	}
	out := make([]Decay, len(decays))
	for i, d := range decays {
		time, reason := d.To(DecaySpan)
		out[i] = Decay{d.Band, time, reason}
	}
	return out, nil
}
