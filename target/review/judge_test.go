package review_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/claim"
	"example.com/earnest/target/review"
)

// The measured pair is judged: against a flat target, claims and rivals.
func TestJudgement(t *testing.T) {
	race.Skip(t)
	s := simulate(t)
	b := s.bench()
	p, err := s.seated(b, asItIs)
	require.NoError(t, err)
	r, err := p.Measure()
	require.NoError(t, err)
	mean, _, err := r.PerSeating()
	require.NoError(t, err)
	brighter := target.Pair{Name: "Brighter"}
	for _, c := range mean {
		c.Level = append([]float64(nil), c.Level...)
		for i, f := range c.Frequency {
			c.Level[i] += 4 * math.Log2(f/1000)
		}
		brighter.Seatings = append(brighter.Seatings, c)
	}
	criteria := review.Criteria{
		Claims: []claim.Claim{
			claim.FrequencyRange{Band: response.Band{Low: 20, High: 20000}, Down: 60, Reference: claim.Reference{At: 1000}},
			claim.Distortion{At: 1000, Percent: 5},
		},
		Rivals: []target.Pair{brighter},
	}
	require.NoError(t, b.Preflight(r.About.Name, 3, criteria))
	require.NoError(t, r.Judge(criteria))
	j := r.Judgement
	assert.True(t, j.NoTarget)
	grid := response.LogGrid(25, 18000, 48)
	var sum, squares float64
	for _, f := range grid {
		v := (s.truth(rig.Left, f, 0, 1, 2) + s.truth(rig.Right, f, 0, 1, 2)) / 2
		sum, squares = sum+v, squares+v*v
	}
	n := float64(len(grid))
	assert.InDelta(t, math.Sqrt(squares/n-sum*sum/n/n), j.Mean.RMS.Value, 0.15, "dB; smoothing, and the ends of the band")
	require.NotNil(t, j.Difference)
	assert.True(t, j.Difference.RMS.Known())
	require.Len(t, j.Claims, 2)
	assert.Equal(t, claim.Met, j.Claims[0].Outcome, "60 dB is a lot")
	assert.Equal(t, claim.CannotTell, j.Claims[1].Outcome, "it states no level")
	assert.NotNil(t, j.Correction)
	assert.Len(t, j.Uses, len(target.Uses()))
	require.NotNil(t, j.Ranking)
	assert.Equal(t, s.pair.Name, j.Ranking.Places[0].Name, "the other is tilted by 4 dB an octave")

	silent := target.Pair{Name: "Silent", Seatings: slices.Clone(mean[:1])}
	silent.Seatings[0].Level = slices.Repeat([]float64{math.NaN()}, len(mean[0].Level))
	criteria.Rivals = []target.Pair{silent, brighter}
	require.NoError(t, r.Judge(criteria))
	assert.Len(t, r.Judgement.Rivals, 1)
	assert.Len(t, r.Judgement.Ranking.Places, 2)
	assert.Contains(t, strings.Join(r.Notes, " "), "Silent: its response does not exceed the noise")
	j = r.Judgement

	elsewhere := brighter
	elsewhere.Seatings = append([]response.Curve(nil), mean...)
	for i := range elsewhere.Seatings {
		elsewhere.Seatings[i].Rig = "an ear"
	}
	criteria.Rivals = []target.Pair{elsewhere}
	assert.ErrorIs(t, b.Preflight(r.About.Name, 3, criteria), response.ErrOtherRig, "before anything is measured")
	assert.ErrorIs(t, r.Judge(criteria), response.ErrOtherRig)
	assert.ErrorContains(t, r.Judge(review.Criteria{Claims: []claim.Claim{claim.Impedance{}}}), "impedance")
	other := target.Target{Name: "an ear's", Curve: elsewhere.Seatings[0]}
	assert.ErrorIs(t, b.Preflight(r.About.Name, 3, review.Criteria{Target: &other}), response.ErrOtherRig)
	assert.ErrorIs(t, r.Judge(review.Criteria{Target: &other}), response.ErrOtherRig)
	assert.Same(t, j, r.Judgement, "the earlier judgement stays")
}
