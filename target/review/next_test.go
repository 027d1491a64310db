package review_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/sweep"
	"example.com/earnest/target/claim"
	"example.com/earnest/target/review"
)

// seated draws a number of seatings, with levels that scatter by 1 dB, independently at each
// frequency.
func seated(t *testing.T, draw *rand.Rand, n int) *review.Results {
	var sides [2]*response.Average
	for k := range sides {
		var curves []response.Curve
		for range n {
			grid := response.LogGrid(100, 10000, 12)
			c, err := response.NewCurve(grid, make([]float64, len(grid)))
			require.NoError(t, err)
			for i := range c.Level {
				c.Level[i] = draw.NormFloat64()
			}
			curves = append(curves, c)
		}
		var err error
		sides[k], err = response.AverageOf(curves)
		require.NoError(t, err)
	}
	r := &review.Results{Left: &review.Side{}, Right: &review.Side{}}
	var err error
	r.Mean, r.Difference, err = response.PoolSides(sides[0], sides[1])
	require.NoError(t, err)
	return r
}

// The predicted gain of one more seating equals the actual gain, in the mean over drawn sessions.
func TestOneMoreSeatingNarrowsIntervalsAsPredicted(t *testing.T) {
	draw := rand.New(rand.NewPCG(21, 1))
	const sessions = 25
	for n := 2; n <= 4; n++ {
		var then, is [2]float64
		for range sessions {
			for k, g := range seated(t, draw, n).OneMoreSeating() {
				then[k] += g.Then / sessions
				assert.Less(t, g.Then, g.Now)
			}
			for k, g := range seated(t, draw, n+1).OneMoreSeating() {
				is[k] += g.Now / sessions
			}
		}
		// An estimate of s by few degrees of freedom is low by 1/(4ν) and its median lower: 12 % at
		// ν = 2, 6 % at 4.
		tolerance := []float64{0.13, 0.07, 0.05}[n-2]
		assert.InEpsilon(t, is[0], then[0], tolerance, "response, %d seatings", n)
		assert.InEpsilon(t, is[1], then[1], tolerance, "left less right, %d seatings", n)
	}
	for _, g := range seated(t, draw, 1).OneMoreSeating() {
		assert.True(t, math.IsNaN(g.Now) && math.IsNaN(g.Then), "one seating does not show how much the next differs")
	}
}

// next is the first step that is not done.
func next(p review.Progress) review.Step {
	for _, s := range p.Steps() {
		if !s.Done {
			return s
		}
	}
	return review.Step{}
}

func TestStepsComeInTheirOrder(t *testing.T) {
	p := review.Progress{Has: map[review.Role]int{}}
	assert.Equal(t, review.DirectSweep, next(p).Role)
	assert.False(t, next(p).Loud, "no recording through the pair yet")
	p.Has[review.DirectSweep] = 1
	assert.Equal(t, sweep.Left, next(p).Side)
	assert.True(t, next(p).Loud, "the cautions come before it")
	p.Left = 1
	assert.Equal(t, sweep.Right, next(p).Side)
	p.Right = 1
	assert.Equal(t, "seating 2, the left cup on the microphone", next(p).What)
	assert.True(t, next(p).Optional)
	p.Left, p.Right = 3, 3
	assert.Equal(t, review.DirectPiece, next(p).Role)
	p.Has[review.ThroughPiece] = 1
	assert.Equal(t, review.DirectSweep, next(p).Role, "once more, at the end")
	p.Has[review.DirectSweep] = 2
	assert.Equal(t, review.Step{}, next(p))

	p.Claims = []claim.Claim{claim.Sensitivity{}, claim.Impedance{}, claim.AtMost{What: claim.Crosstalk}}
	assert.Equal(t, review.CalibratorTone, next(p).Role)
	p.Has[review.CalibratorTone] = 1
	assert.Contains(t, next(p).What, "voltage")
	p.Driven = true
	assert.Equal(t, review.ImpedanceNoise, next(p).Role)
	p.Has[review.ImpedanceNoise] = 1
	assert.Contains(t, next(p).What, "crosstalk")
	p.Asked = []sweep.Question{sweep.AskCrosstalk}
	assert.Equal(t, review.Step{}, next(p))
}
