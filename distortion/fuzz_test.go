package distortion_test

import (
	"testing"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/testing/drawn"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// For any recording and configuration, Harmonics returns an error or harmonics, or panics where
// documented.
func FuzzHarmonics(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte("a second and a third harmonic"))
	one, err := sweep.New(sweep.Config{Duration: 3e8, SampleRate: 16000, Level: -6})
	if err != nil {
		f.Fatal(err)
	}
	d, err := response.NewDeconvolver(one, response.DeconvolverConfig{Longest: 6e8, Orders: 4})
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		s := drawn.From(b)
		drawn.Harmless(t, func() {
			x := s.Samples(9000)
			if s.Int(3) > 0 {
				for i, v := range one.Samples() {
					x[i+s.Int(2)] += v + 0.1*v*v
				}
			}
			separated, err := d.Separate(x)
			if err != nil {
				return
			}
			var c distortion.Config
			s.Fill(&c)
			set, err := distortion.Harmonics(separated, c)
			if err != nil {
				return
			}
			set.THD(s.Number())
			if other, err := distortion.Harmonics(separated, distortion.Config{}); err == nil {
				_, _ = set.WithRig(other)
				_, _ = set.Subtract(other)
				_, _ = distortion.NewLevelSeries(set, other)
			}
			_, _ = distortion.RubBuzz(separated, x, c)
		}, "distortion", "response", "smoothing")
	})
}
