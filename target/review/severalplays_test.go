package review_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
	"example.com/earnest/target/review"
)

const several = "several plays"

// inOneFile joins the recordings of two seatings, like a recorder that is left running. It leaves
// out some samples at the beginning.
func (s *simulation) inOneFile(a, b, without int) [][]float64 {
	first, second := s.through(a).Channels, s.through(b).Channels
	out := make([][]float64, len(first))
	for k := range out {
		out[k] = slices.Concat(first[k][without:], second[k])
	}
	return out
}

// TestOneOfSeveralPlaysIsNamed gives recordings with two plays of different seatings as one
// seating. The response has to be that of the one that the finding names, by the rig's closed form.
func TestOneOfSeveralPlaysIsNamed(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	left := s.stimulus.Sweeps(sweep.Left)[0]
	for _, test := range []struct {
		name    string
		without int // samples at the beginning
		seating int // that is measured
		said    int
	}{
		{"two whole plays", 0, 0, 1},
		{"the first from the middle of its first sweep on", left.Start + left.Len/2, 2, 0}, // it could not be used
	} {
		p := s.bench().Pair(review.About{Name: s.pair.Name})
		findings, err := p.Seat(review.Seating{Channels: review.Both(s.recording("long.wav", s.inOneFile(0, 2, test.without)))})
		require.NoError(t, err, test.name)
		assert.Len(t, found(findings, several), test.said, test.name)
		r, err := p.Measure()
		require.NoError(t, err, test.name)
		assert.Len(t, found(r.Findings, several), test.said, test.name)
		s.checkSides(r, test.seating)
		if test.said > 0 {
			assert.Contains(t, found(findings, several)[0].What, "holds 2 plays of the stimulus")
		}
	}
}

// Each play, with its placement, is a seating of its own.
func TestEachPlayIsASeating(t *testing.T) {
	s := simulate(t)
	placed, err := placement.Locate(s.recording("long.wav", s.inOneFile(0, 2, 0)), s.stimulus)
	require.NoError(t, err)
	plays, err := placed.Plays()
	require.NoError(t, err)
	var seatings []review.Seating
	for _, p := range plays {
		one := review.Channel{Recording: p.Recording, Placement: p.Placement}
		seatings = append(seatings, review.Seating{Channels: review.Channels{Left: one, Right: one}})
	}
	p := s.bench().Pair(review.About{Name: s.pair.Name})
	findings, err := p.Seat(seatings...)
	require.NoError(t, err)
	assert.Empty(t, found(findings, several))
	r, err := p.Measure()
	require.NoError(t, err)
	s.checkSides(r, 0, 2)
}

// One microphone that records one cup after the other in one file has a play for each side.
func TestOnePlayForEachCup(t *testing.T) {
	s := simulate(t)
	x := s.through(0).Channels
	one := review.Channel{Recording: s.recording("cups.wav", [][]float64{slices.Concat(x[0], x[1])})}
	p := s.bench().Pair(review.About{Name: s.pair.Name})
	findings, err := p.Seat(review.Seating{Channels: review.Channels{Left: one, Right: one}})
	require.NoError(t, err)
	assert.Empty(t, found(findings, several))
	r, err := p.Measure()
	require.NoError(t, err)
	s.checkSides(r, 0)
	apart := s.truth(rig.Right, 4000, 0) - s.truth(rig.Left, 4000, 0)
	assert.InDelta(t, apart, r.Right.Response().At(4000)-r.Left.Response().At(4000), 2*nearTruth, "dB")
}
