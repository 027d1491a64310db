package review_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/target/review"
)

// TestDistortionExplainsWhatIsLeftOfMusic records music through a pair with much distortion. The
// part that no linear filter explains agrees with the prediction from the sweep's distortion.
// Without the distortion it is noise.
func TestDistortionExplainsWhatIsLeftOfMusic(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	s.pair.Left.Before, s.pair.Left.Distortion = nil, rig.NewPolynomial(-12, -34, -46, -70, -90)
	s.pair.Left.Filters = s.pair.Left.Filters[1:] // what takes Before back
	s.rig.Spill.Level, s.rig.Plate = 0, nil
	st := s.stimulus
	b, err := review.New(s.config)
	require.NoError(t, err)
	_, err = b.Direct(review.Both(s.recording("direct.wav", s.rig.Direct(st.Channels()))))
	require.NoError(t, err)
	p := b.Pair(review.About{Name: s.pair.Name})
	_, err = p.Seat(review.Seating{Channels: review.Both(s.recording("first.wav", s.rig.Through(s.pair, 0, st.Channels())))})
	require.NoError(t, err)
	both := rig.Music(48000, 30, 5)
	clean := s.pair
	clean.Left.Distortion = rig.Polynomial{}
	for name, pair := range map[string]rig.Headphones{"distorted": s.pair, "clean": clean} {
		require.NoError(t, p.Play(review.Material{Name: name, Side: "left",
			Direct:  review.Channel{Recording: s.recording(name+"-direct.wav", s.rig.Direct(both)), Number: 1},
			Through: review.Channel{Recording: s.recording(name+"-through.wav", s.rig.Through(pair, 0, both)), Number: 1}}))
	}
	r, err := p.Measure()
	require.NoError(t, err)
	for _, m := range r.Programmes {
		require.NoError(t, m.Refused)
		compared := 0
		for _, one := range m.Residuals {
			t.Logf("%s %6.0f Hz: %6.1f, noise %6.1f, predicted %6.1f", m.Name, one.Frequency, one.Read, one.Noise, one.Predicted)
			if one.Frequency < 150 || one.Frequency > 6000 || math.IsNaN(one.Predicted) || math.IsNaN(one.Read) {
				continue
			}
			switch {
			case m.Name == "clean":
				assert.Less(t, one.Read, one.Noise+3, "%v Hz", one.Frequency)
				compared++
			case one.Predicted > one.Noise+6:
				assert.InDelta(t, one.Predicted, one.Read, 2, "%v Hz", one.Frequency) // dB; segments of other lengths and places
				compared++
			}
		}
		assert.Greater(t, compared, 5, m.Name)
	}
}
