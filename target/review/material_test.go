package review_test

import (
	"math"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/target"
	"example.com/earnest/target/claim"
	"example.com/earnest/target/review"
)

// alone plays only music and speech in a number of seatings; spoil may change the recordings
// through the headphones.
func (s *simulation) alone(seatings int, spoil func(piece string, seating int, through *capture.Recording)) *review.Pair {
	s.config.Stimulus = nil
	b, err := review.New(s.config)
	require.NoError(s, err)
	p := b.Pair(review.About{Name: s.pair.Name})
	for k, name := range []string{"tune", "voice"} {
		direct := s.recording(name+"-direct.wav", recordedMaterial()[k][0])
		for i := range seatings {
			through := s.recording(name+string(rune('1'+i))+".wav", slices.Clone(recordedMaterial()[k][1+i]))
			spoil(name, i, through)
			for _, side := range []string{"left", "right"} {
				require.NoError(s, p.Play(review.Material{Name: name, Side: side, Direct: review.Channel{Recording: direct}, Through: review.Channel{Recording: through}}))
			}
		}
	}
	return p
}

// recordedMaterial is a tune and a voice, direct and in two seatings, simulated once for all tests,
// which do not write into them.
var recordedMaterial = sync.OnceValue(func() (all [2][3][][]float64) {
	pair, _, r := rig.Demonstration()
	r.Microphone = nil
	for k, sound := range [][][]float64{rig.Music(48000, 4, 1), rig.Speech(48000, 4, 2)} {
		all[k] = [3][][]float64{r.Direct(sound), r.Through(pair, 0, sound), r.Through(pair, 1, sound)}
	}
	return all
})

func untouched(string, int, *capture.Recording) {}

// Two pieces in two seatings give the same results as a sweep: both sides, left less right,
// deviation, ranking and claims, and no distortion.
func TestMusicAndSpeechAlone(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	r, err := s.alone(2, untouched).Measure()
	require.NoError(t, err)
	require.Len(t, r.Sides(), 2)
	assert.Equal(t, 2, r.Seatings)
	for k, side := range r.Sides() {
		require.Len(t, side.Seatings, 2)
		assert.Equal(t, 2, side.Average.Count)
		for _, f := range []float64{100, 200, 1000, 4000, 8000} {
			assert.InDelta(t, s.truth([]rig.Side{rig.Left, rig.Right}[k], f, 0, 1), side.Response().At(f), nearTruth, "dB, %s, %v Hz", side.Name, f)
		}
		assert.Empty(t, side.Seatings[0].Harmonics.Orders)
		assert.Nil(t, side.Decay)
		assert.True(t, math.IsNaN(side.Phase[100]))
	}
	assert.Equal(t, 1.0, r.Polarity.Value)
	names := map[string]bool{}
	for _, c := range r.Mean.Components {
		names[c.Name] = true
	}
	assert.True(t, names["scatter of seatings"], "seatings of material count as seatings: %v", names)
	assert.True(t, names[response.WindowCause])
	for _, f := range r.Findings {
		assert.Less(t, f.Severity, response.Warning, "%v", f)
	}

	other := target.Pair{Name: "another", Seatings: []response.Curve{r.Mean.Offset(1)}}
	require.NoError(t, r.Judge(review.Criteria{Rivals: []target.Pair{other}, Claims: []claim.Claim{claim.Match{Within: 30, At: 1000}, claim.Distortion{At: 1000, Percent: 5}}}))
	j := r.Judgement
	assert.True(t, j.Mean.RMS.Known())
	require.NotNil(t, j.Difference)
	assert.True(t, j.Difference.RMS.Known())
	require.Len(t, j.Claims, 2)
	assert.Equal(t, claim.Met, j.Claims[0].Outcome, "%v", j.Claims[0])
	assert.Equal(t, claim.CannotTell, j.Claims[1].Outcome, "distortion")
	require.NotNil(t, j.Ranking)
	assert.NotEmpty(t, j.Uses)
}

// A piece with another response is named, and the interval includes the difference.
func TestPiecesThatDisagree(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	agree, err := s.alone(1, untouched).Measure()
	require.NoError(t, err)
	r, err := s.alone(1, func(piece string, _ int, through *capture.Recording) {
		if piece == "voice" {
			for k, x := range through.Channels {
				through.Channels[k] = floats.ScaleTo(make([]float64, len(x)), 1.3, x)
			}
		}
	}).Measure()
	require.NoError(t, err)
	var found []response.Finding
	for _, f := range r.Findings {
		if f.Kind == review.PiecesDisagree {
			found = append(found, f)
		}
	}
	require.Len(t, found, 2, "one for each side: %v", r.Findings)
	assert.InDelta(t, 20*math.Log10(1.3), math.Abs(found[0].Figures["difference"].Value), 2.3, "dB; the mean moves with it")
	assert.Greater(t, r.Left.Response().HalfWidth(0.95)[200], 5*agree.Left.Response().HalfWidth(0.95)[200])
}

// Unusable recordings are left out and named. A bench without a stimulus rejects recordings of a
// stimulus.
func TestMaterialThatCannotBeUsed(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	first := map[string]*capture.Recording{}
	r, err := s.alone(2, func(piece string, seating int, through *capture.Recording) {
		if seating == 0 {
			first[piece] = through
		} else if piece == "tune" {
			through.Channels = first[piece].Channels
		}
	}).Measure()
	require.NoError(t, err)
	kinds := map[response.FindingKind]int{}
	for _, f := range r.Findings {
		kinds[f.Kind]++
	}
	assert.Equal(t, 2, kinds[review.Unusable], "the tune of the second seating is that of the first, on either side: %v", r.Findings)
	assert.Len(t, r.Left.Seatings, 2, "speech is left of the second")

	silent := s.alone(1, func(_ string, _ int, through *capture.Recording) {
		for k, x := range through.Channels {
			through.Channels[k] = make([]float64, len(x))
		}
	})
	_, err = silent.Measure()
	assert.ErrorIs(t, err, fitness.ErrUnfit)

	b, err := review.New(s.config)
	require.NoError(t, err)
	_, err = b.Direct(review.Both(s.recording("direct.wav", nil)))
	assert.ErrorContains(t, err, "has no stimulus")
	_, err = b.Pair(review.About{}).Seat(review.Seating{})
	assert.ErrorContains(t, err, "has no stimulus")
	_, err = b.Pair(review.About{Name: "Wren"}).Measure()
	assert.ErrorContains(t, err, "music or speech")
}

// A limiter before the recorder is reported. Without one, nothing is reported
// (TestMusicAndSpeechAlone).
func TestUnsteadyMaterialIsNamed(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	r, err := s.alone(1, func(_ string, _ int, through *capture.Recording) {
		for k, x := range through.Channels {
			y, envelope := slices.Clone(x), 0.0
			for i, v := range y {
				envelope = max(math.Abs(v), envelope*0.9998) // falls by 8.7 dB in 100 ms
				y[i] = v * min(1, 0.01/envelope)
			}
			through.Channels[k] = y
		}
	}).Measure()
	require.NoError(t, err)
	named := 0
	for _, f := range r.Findings {
		if f.Kind == review.NotAsPlayed {
			named++
			assert.Greater(t, f.Figures["residual"].Value, -27.0, "dB")
		}
	}
	assert.Equal(t, 4, named, "both sides of both pieces: %v", r.Findings)
}
