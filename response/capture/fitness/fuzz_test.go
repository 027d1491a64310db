package fitness_test

import (
	"testing"
	"time"

	"example.com/earnest/internal/testing/drawn"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// For any recording, however short, and any statement about it, locating, inspecting, cutting and
// correcting the clock do not panic except where documented.
func FuzzInspect(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte{2, 200, 3, 100, 1, 2, 3, 4, 5, 6, 7, 8, 9})
	f.Add([]byte("a recording of the stimulus, short"))
	one, err := sweep.New(sweep.Config{Duration: 2e8, SampleRate: 8000, Level: -6})
	if err != nil {
		f.Fatal(err)
	}
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: one, Silence: 100 * time.Millisecond, Gap: 100 * time.Millisecond})
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		s := drawn.From(b)
		n := s.Int(256) * 60
		r := &capture.Recording{Name: "drawn.wav", SampleRate: []int{8000, 48000, 0}[s.Int(3)], Channels: make([][]float64, s.Int(4))}
		s.Fill(&r.Format)
		for k := range r.Channels {
			r.Channels[k] = s.Samples(n)
			if s.Int(2) == 1 {
				from := s.Int(256) * 10
				for i, v := range st.Channels()[k%2] {
					if from+i < n {
						r.Channels[k][from+i] += v
					}
				}
			}
		}
		played := st
		if s.Int(4) == 0 {
			played = nil
		}
		var c fitness.Config
		s.Fill(&c)
		drawn.Harmless(t, func() {
			p, err := placement.Locate(r, played)
			report := new(fitness.Set).Inspect(p, c)
			_ = report.Err()
			if err != nil || played == nil {
				return
			}
			_, _ = p.Plays()
			channel := s.Int(5)
			if clock, err := p.Clock(channel, sweep.Left); err == nil {
				p = p.CorrectDrift(clock)
			}
			if take, err := p.Take(channel, sweep.Right); err == nil {
				take.Average()
			}
		}, "capture", "placement", "fitness")
	})
}
