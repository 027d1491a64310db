package review_test

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/target/review"
)

// TestDistortionExplainsTheResidualOfMusic records music through a pair with much distortion. The
// part that no linear filter explains agrees with the prediction from the sweep's distortion.
// Without the distortion it is noise.
func TestDistortionExplainsTheResidualOfMusic(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	s.pair.Left.Before, s.pair.Left.Distortion = nil, rig.NewPolynomial(-12, -34, -46, -70, -90)
	s.pair.Left.Filters = s.pair.Left.Filters[1:] // the inverse of Before
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

// TestAFilterBeforeTheDistortionIsReported draws pairs whose bass is raised before the distortion and
// lowered again behind it. FilterBefore has a closed form, the effect of the filter A on harmonic
// n, A(f)ⁿ/A(nf). Where it is above 6 dB, the predicted residual is too low.
func TestAFilterBeforeTheDistortionIsReported(t *testing.T) {
	long.Skip(t)
	random := rand.New(rand.NewPCG(17, 4))
	for _, gain := range []float64{1.5, 6, 12} {
		s := simulate(t)
		corner := 80 * math.Pow(4, random.Float64())
		before, back := rig.LowShelf(corner, 0.6, gain), rig.LowShelf(corner, 0.6, -gain)
		s.pair.Left.Distortion = rig.NewPolynomial(-12, -34, -46, -70, -90)
		s.pair.Left.Before = []rig.Filter{before}
		s.pair.Left.Filters[0] = back
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
		require.NoError(t, p.Play(review.Material{Name: "music", Side: "left",
			Direct:  review.Channel{Recording: s.recording("music-direct.wav", s.rig.Direct(both)), Number: 1},
			Through: review.Channel{Recording: s.recording("music-through.wav", s.rig.Through(s.pair, 0, both)), Number: 1}}))
		r, err := p.Measure()
		require.NoError(t, err)
		m := r.Programmes[0]
		low, count := 0.0, 0.0
		for _, one := range m.Residuals {
			if one.Frequency > 150 && one.Frequency < 6000 && one.Predicted > one.Noise+6 {
				low, count = low+one.Read-one.Predicted, count+1
			}
		}
		low /= count
		t.Logf("%4.1f dB below %3.0f Hz: harmonics vary by %.1f dB, the prediction is low by %.1f dB", gain, corner, m.FilterBefore, low)
		raised := func(f float64) float64 { return 20 * math.Log10(cmplx.Abs(before.Response(f, 48000))) }
		want := 0.0
		for _, n := range []float64{2, 3} {
			least, most := math.Inf(1), math.Inf(-1)
			for _, middle := range response.LogGrid(60, 3000, 1) {
				mean := 0.0
				for k := range 24 {
					f := middle * math.Exp2((float64(k)-11.5)/24)
					mean += (n*raised(f) - raised(n*f)) / 24
				}
				least, most = min(least, mean), max(most, mean)
			}
			want = max(want, most-least)
		}
		assert.InDelta(t, want, m.FilterBefore, 0.5+0.1*want, "dB; higher powers add to the third harmonic")
		assert.Equal(t, gain > 2, m.FilterBefore > 6)
		assert.Equal(t, gain > 2, low > 2, "dB")
	}
}
