package review_test

import (
	"slices"
	"testing"
	"time"

	"example.com/earnest/internal/testing/drawn"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
	"example.com/earnest/target/review"
)

// For any configuration of the bench and any recordings, a review returns results or an error, or
// panics where documented.
func FuzzReview(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte{1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1})
	f.Add([]byte("a direct recording and a seating, both short"))
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
		recording := func(name string) *capture.Recording {
			if s.Int(16) == 1 {
				return nil
			}
			r := &capture.Recording{Name: name, SampleRate: 8000, Format: capture.Format{Bits: 24}}
			for _, x := range st.Channels()[:2-s.Int(8)/7] {
				x = slices.Clone(x)
				switch s.Int(5) {
				case 1:
					x = s.Samples(s.Int(256) * 60)
				case 2:
					for i, v := range s.Samples(len(x)) {
						x[i] += v / 1000
					}
				case 3:
					x = x[:len(x)*s.Int(256)/256]
				}
				r.Channels = append(r.Channels, x)
			}
			n := r.Len()
			for _, x := range r.Channels {
				n = min(n, len(x))
			}
			for k, x := range r.Channels {
				r.Channels[k] = x[:n]
			}
			return r
		}
		var c review.Config
		if s.Int(2) == 1 {
			s.Fill(&c)
		}
		c.Stimulus = st
		c.CalibratorTone.Recording = recording("calibrator.wav")
		drawn.Harmless(t, func() {
			bench, err := review.New(c)
			if err != nil {
				return
			}
			direct := review.Both(recording("direct.wav"))
			if s.Int(4) == 0 {
				direct.Left.Number = s.Int(5) - 1
			}
			if _, err = bench.Direct(direct); err != nil {
				return
			}
			pair := bench.Pair(review.About{Name: "drawn"})
			for range s.Int(3) {
				_, _ = pair.Seat(review.Seating{Channels: review.Channels{
					Left:  review.Channel{Recording: recording("left.wav"), Number: s.Int(4) - 1},
					Right: review.Channel{Recording: recording("right.wav"), Number: s.Int(4) - 1},
				}})
			}
			var d review.Drive
			s.Fill(&d)
			pair.Drive(d)
			if s.Int(4) == 0 {
				_ = pair.Play(review.Material{Direct: review.Channel{Recording: recording("direct.wav")}, Through: review.Channel{Recording: recording("through.wav")}})
			}
			results, err := pair.Measure()
			if err != nil {
				return
			}
			var criteria review.Criteria
			s.Fill(&criteria.Config)
			_ = results.Judge(criteria)
		}, "review", "capture", "placement", "response", "distortion", "target", "level", "programme", "smoothing")
	})
}
