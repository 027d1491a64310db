package distortion

import (
	"fmt"

	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// ErrSilence is returned for a silence from which no floor can be known.
var ErrSilence = response.ErrSilence

// noise estimates the noise of the silence, as the mean of so many sweeps shows
// it; nil when there is none.
func (c Config) noise(s *sweep.Sweep) (*response.Noise, error) {
	return newNoise(c.Silence, c.SilenceRate, max(1, c.Averages), s)
}

func newNoise(silence []float64, rate, averages int, s *sweep.Sweep) (*response.Noise, error) {
	if len(silence) == 0 {
		return nil, nil
	}
	if rate != 0 && rate != s.SampleRate() {
		return nil, fmt.Errorf("distortion: %w: it was recorded at %d Hz, the sweep at %d Hz; record both at one rate", ErrSilence, rate, s.SampleRate())
	}
	noise, err := response.NewNoise(silence, s.SampleRate())
	if err != nil {
		return nil, fmt.Errorf("distortion: %w", err)
	}
	return noise.Averaged(averages), nil
}
