package response_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.com/earnest/internal/testing/race"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/known"
	"example.com/earnest/response"
)

// Seatings of 0 and 6 dB, and of 1 and 9: variances 18 and 32, pooled 25. Student's t of two
// degrees of freedom is 4.303 (JCGM 100:2008, table G.2). If the second side scatters more than
// twice as much, 0 and 12 against 1 and 3 with variances of 72 and 2, it has its own t of one
// degree, 12.706.
func TestPoolSidesByHand(t *testing.T) {
	grid := []float64{500, 600}
	side := func(levels ...float64) *response.Average {
		var curves []response.Curve
		for _, v := range levels {
			curves = append(curves, slope(t, grid, v, 0))
		}
		a, err := response.AverageOf(curves)
		require.NoError(t, err)
		return a
	}
	left, right := side(0, 6), side(1, 9)
	mean, difference, err := response.PoolSides(left, right)
	require.NoError(t, err)
	assert.InDelta(t, 4, mean.Level[0], exact)
	assert.InDelta(t, -2, difference.Level[0], exact)
	assert.InDelta(t, 4.303*5/math.Sqrt2, left.Level.HalfWidth(0.95)[0], 0.01, "the table's last digit")
	assert.InDelta(t, left.Level.HalfWidth(0.95)[1], right.Level.HalfWidth(0.95)[1], exact, "one estimate for both")
	assert.InDelta(t, 4.303*5, difference.HalfWidth(0.95)[0], 0.01, "the table's last digit")
	assert.InDelta(t, 4.303*5/2, mean.HalfWidth(0.95)[0], 0.01, "the table's last digit")
	assert.InDelta(t, 2, difference.Figure(500).DegreesOfFreedom, exact)

	wide, narrow := side(0, 12), side(1, 3)
	_, difference, err = response.PoolSides(wide, narrow)
	require.NoError(t, err)
	assert.InDelta(t, 12.706*6, wide.Level.HalfWidth(0.95)[0], 0.02, "its own; the table's last digit")
	assert.InDelta(t, 4.303*math.Sqrt(37./2), narrow.Level.HalfWidth(0.95)[0], 0.01, "pooled; the table's last digit")
	// Welch: (36 + 1)²/(36² + 1) = 1.0555 degrees, of which t is 11.25 (interpolated by
	// scipy.stats.t.ppf, from memory 11.2 to 11.3).
	assert.InDelta(t, 11.25*math.Sqrt(37), difference.HalfWidth(0.95)[0], 1, "t is steep there")

	once, twice := side(3), side(0, 6)
	_, difference, err = response.PoolSides(once, twice)
	require.NoError(t, err)
	assert.InDelta(t, 12.706*math.Sqrt(18), once.Level.HalfWidth(0.95)[0], 0.02, "the scatter of the other side is used for it; the last digit of the table")
	assert.InDelta(t, 12.706*math.Sqrt(18*1.5), difference.HalfWidth(0.95)[0], 0.02, "the same")
	mean, _, err = response.PoolSides(side(3), side(5))
	require.NoError(t, err)
	assert.Nil(t, mean.Uncertainty, "nobody knows")
	elsewhere, err := response.AverageOf([]response.Curve{slope(t, []float64{500, 700}, 1, 0)})
	require.NoError(t, err)
	assert.Panics(t, func() { response.PoolSides(left, elsewhere) })
}

// Both sides of 400 simulated pairs, three seatings each that scatter by 1.5 dB in octaves: 95 % of
// the 95 % intervals hold the truth, with half the width of those from one side's own scatter.
func TestPooledIntervalsHoldTheTruth(t *testing.T) {
	race.Skip(t)
	random := rand.New(rand.NewPCG(8, 3))
	held, total := map[string]float64{}, 0.0
	var pooled, own float64
	for range 400 {
		left, err := response.AverageOf(seated(t, 3, 1.5, random))
		require.NoError(t, err)
		right, err := response.AverageOf(seated(t, 3, 1.5, random))
		require.NoError(t, err)
		before := left.Level.HalfWidth(0.95)
		mean, difference, err := response.PoolSides(left, right)
		require.NoError(t, err)
		after := left.Level.HalfWidth(0.95)
		for i := 0; i < len(before); i += 9 { // one in three octaves, which are independent; the truth is 0 dB
			total++
			own, pooled = own+before[i], pooled+after[i]
			for name, c := range map[string]response.Curve{"a side": left.Level, "mean": mean, "difference": difference} {
				if math.Abs(c.Level[i]) <= c.HalfWidth(0.95)[i] {
					held[name]++
				}
			}
		}
	}
	for name, n := range held {
		assert.InDelta(t, 0.95, n/total, 0.025, "%s; 1,600 trials, four standard deviations", name)
	}
	assert.Less(t, pooled, 0.92*own, "narrower on average, the guard included")
}

// scipy.stats.ttest_ind with one variance for both: the standard error of the difference, its
// degrees of freedom and its 95 % interval.
func TestPooledScatterEqualsSciPy(t *testing.T) {
	var reference struct {
		Pooled struct {
			Left, Right             []float64
			Difference, Error, Half float64
		}
	}
	known.Values(t, "statistics.json", &reference)
	want := reference.Pooled
	left, right := single(t, want.Left), single(t, want.Right)
	mean, difference, err := response.PoolSides(left, right)
	require.NoError(t, err)
	f := difference.Figure(1000)
	assert.InDelta(t, want.Difference, f.Value, 1e-9)
	assert.InDelta(t, want.Error, f.Uncertainty, 1e-9)
	assert.InDelta(t, float64(len(want.Left)+len(want.Right)-2), f.DegreesOfFreedom, 1e-9)
	assert.InDelta(t, want.Half, difference.HalfWidth(0.95)[0], 1e-9)
	assert.InDelta(t, want.Half/2, mean.HalfWidth(0.95)[0], 1e-9, "of the mean of both it is half as much")
}
