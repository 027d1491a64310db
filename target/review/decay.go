package review

import (
	"example.com/earnest/response"
	"example.com/earnest/smoothing"
)

// DecaySpan is by how much the energy still to come has to fall, in dB, for the times in Decay.
const DecaySpan = -30

// Decay is the time in which one third octave falls by DecaySpan.
type Decay struct {
	Band smoothing.Band
	Time response.Figure // s
	// Reason says why the time is not known; it is empty for one that is.
	Reason string
}

// decay has the decay of every third octave in a reading.
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
		t := d.To(DecaySpan)
		out[i] = Decay{d.Band, response.Figure{Value: t.Seconds, Uncertainty: t.Uncertainty, Unit: "s"}, t.Reason}
	}
	return out, nil
}
