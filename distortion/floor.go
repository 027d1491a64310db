package distortion

import (
	"fmt"

	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// noise estimates the noise in the mean of c.Averages sweeps from the silence. It returns nil if
// there is no silence.
func (c Config) noise(s *sweep.Sweep) (*response.Noise, error) {
	switch {
	case c.Averages < 0:
		return nil, fmt.Errorf("distortion: %d averages; give the number of sweeps that were averaged, 1 or more",
			c.Averages)
	case len(c.Silence) == 0:
		return nil, nil
	case c.SilenceRate != 0 && c.SilenceRate != s.SampleRate():
		return nil, fmt.Errorf("distortion: %w: it was recorded at %d Hz, the sweep at %d Hz; record both at one rate",
			response.ErrSilence, c.SilenceRate, s.SampleRate())
	}
	noise, err := response.NewNoise(c.Silence, s.SampleRate())
	if err != nil {
		return nil, fmt.Errorf("distortion: %w", err)
	}
	return noise.Averaged(max(1, c.Averages)), nil
}
