package response_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.com/earnest/internal/testing/race"

	"example.com/earnest/response"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// seated returns curves about a level response, with an independent scatter in dB in each octave.
func seated(t testing.TB, n int, scatter float64, random *rand.Rand) []response.Curve {
	curves := make([]response.Curve, n)
	for k := range curves {
		grid := response.LogGrid(20, 20000, 3)
		level := make([]float64, len(grid))
		var octave float64
		for i := range level {
			if i%3 == 0 {
				octave = scatter * random.NormFloat64()
			}
			level[i] = octave
		}
		curves[k] = mustCurve(t, grid, level)
		curves[k].Rig = "flat plate"
	}
	return curves
}

// Levels of 0, 2 and 4 dB: mean 2, spread 2, standard uncertainty 2/√3; power
// mean 10 log10((1 + 10^0.2 + 10^0.4)/3).
func TestAverageByHand(t *testing.T) {
	grid := []float64{100, 1000, 10000}
	curves := []response.Curve{slope(t, grid, 0, 0), slope(t, grid, 2, 0), slope(t, grid, 4, 0)}
	a, err := response.AverageOf(curves)
	require.NoError(t, err)
	assert.Equal(t, 3, a.Count)
	for i := range grid {
		assert.InDelta(t, 2, a.Level.Level[i], exact, "mean")
		assert.InDelta(t, 2, a.Spread[i], exact, "sample standard deviation")
		assert.InDelta(t, 2/math.Sqrt(3), a.Level.Uncertainty[i], exact, "of the mean, JCGM 100:2008, 4.2.3")
		assert.InDelta(t, 10*math.Log10((1+math.Pow(10, 0.2)+math.Pow(10, 0.4))/3), a.Power.Level[i], exact, "of powers")
	}
	assert.Nil(t, a.Power.Uncertainty)
	assert.Empty(t, a.Outliers)

	// Student's t for two degrees of freedom and 95 %: 4.303 (any table).
	assert.InDelta(t, 4.303*2/math.Sqrt(3), a.Level.HalfWidth(0.95)[1], 0.001, "the table's three decimals")
	for _, p := range []float64{0, 1, -0.5, 95, math.NaN()} {
		assert.Panics(t, func() { a.Level.HalfWidth(p) }, "%v", p)
	}
	assert.Zero(t, curves[0].Level[0], "the curves are left alone")
}

func TestOneSeatingDoesNotTellTheSpread(t *testing.T) {
	a, err := response.AverageOf([]response.Curve{slope(t, []float64{100, 1000}, 3, 0)})
	require.NoError(t, err)
	assert.Equal(t, 1, a.Count)
	assert.InDelta(t, 3, a.Level.At(1000), exact, "itself")
	assert.InDelta(t, 3, a.Power.At(1000), exact, "itself")
	assert.Nil(t, a.Spread)
	assert.Nil(t, a.Level.Uncertainty, "not known, which is not zero")
	isNaN(t, a.Level.UncertaintyAt(1000))
	assert.Nil(t, a.Level.HalfWidth(0.95))
}

func TestAverageIsKnownWhereAllAreKnown(t *testing.T) {
	a := slope(t, response.LogGrid(20, 20000, 12), 0, 0)
	b := slope(t, response.LogGrid(50, 16000, 24), 1, 0) // on another grid
	b.Level[61] = math.NaN()                             // a frequency of both grids
	hole := b.Frequency[61]
	average, err := response.AverageOf([]response.Curve{a, b})
	require.NoError(t, err)
	assert.Equal(t, a.Frequency, average.Level.Frequency)
	assert.InDelta(t, 0.5, average.Level.At(1000), exact, "double precision")
	for _, f := range []float64{30, 17000, hole} {
		isNaN(t, average.Level.At(f), f)
		isNaN(t, average.Power.At(f), f)
		isNaN(t, average.Level.UncertaintyAt(f), f)
	}
	assert.Equal(t, b.Valid, average.Level.Valid)
}

func TestImpossibleAverages(t *testing.T) {
	_, err := response.AverageOf(nil)
	assert.ErrorContains(t, err, "response: nothing to average; give at least one curve")
	_, err = response.MeanLevel()
	assert.ErrorContains(t, err, "nothing to average")
	plate, ear := slope(t, []float64{100, 1000}, 0, 0), slope(t, []float64{100, 1000}, 0, 0)
	plate.Rig, ear.Rig = "flat plate", "ear simulator"
	_, err = response.AverageOf([]response.Curve{plate, plate, ear})
	require.ErrorIs(t, err, response.ErrOtherRig)
	assert.ErrorContains(t, err, `"flat plate" and "ear simulator"`)
	_, err = response.MeanLevel(plate, ear)
	require.ErrorIs(t, err, response.ErrOtherRig)
	ear.Rig = ""
	_, err = response.AverageOf([]response.Curve{plate, ear})
	require.ErrorIs(t, err, response.ErrOtherRig, "a rig that is not stated is not taken for the same rig")
}

func TestMeanLevelOfTwoSides(t *testing.T) {
	left, right := slope(t, []float64{100, 10000}, 1, 2), slope(t, []float64{100, 10000}, 3, -2)
	left.Uncertainty, right.Uncertainty = []float64{0.3, 0.3}, []float64{0.4, 0.4}
	mean, err := response.MeanLevel(left, right)
	require.NoError(t, err)
	assert.InDelta(t, 2, mean.At(3000), 1e-9, "the slopes cancel")
	assert.InDelta(t, 0.25, mean.UncertaintyAt(3000), exact, "half of √(0.3² + 0.4²)")
	match, err := left.Sub(right)
	require.NoError(t, err)
	assert.InDelta(t, 0.5, match.UncertaintyAt(3000), exact, "√(0.3² + 0.4²)")
	right.Uncertainty = nil
	mean, err = response.MeanLevel(left, right)
	require.NoError(t, err)
	assert.Nil(t, mean.Uncertainty)
}

// JCGM 100:2008, G.3: of many reviewers who each seat a pair four times, 95 % hold the truth in
// their 95 % interval.
func TestConfidenceHoldsTheTruthAsOftenAsItSays(t *testing.T) {
	race.Skip(t)
	random := rand.New(rand.NewPCG(11, 5))
	for _, n := range []int{2, 4, 10} {
		held, total := 0, 0
		for range 400 {
			a, err := response.AverageOf(seated(t, n, 1.5, random))
			require.NoError(t, err)
			half := a.Level.HalfWidth(0.95)
			for i := 0; i < len(half); i += 3 { // one of each octave; the truth is 0 dB
				total++
				if math.Abs(a.Level.Level[i]) <= half[i] {
					held++
				}
			}
		}
		assert.InDelta(t, 0.95, float64(held)/float64(total), 0.012, "%d seatings; 4000 trials, 3.5 standard deviations", n)
	}
}

func TestLeakySeatingIsNamedAndNotLeftOut(t *testing.T) {
	random := rand.New(rand.NewPCG(2, 2))
	curves := seated(t, 5, 0.5, random)
	leak := curves[3]
	for i, f := range leak.Frequency {
		if f < 100 {
			leak.Level[i] -= 9
		}
	}
	a, err := response.AverageOf(curves)
	require.NoError(t, err)
	require.Len(t, a.Outliers, 1)
	odd := a.Outliers[0]
	assert.Equal(t, 3, odd.Index)
	assert.Less(t, odd.Band.High, 150.0, "where it leaks")
	assert.InDelta(t, -9, odd.Deviation, 2, "how far it stands out, in dB; three times the scatter of its level and of the median")
	without, err := response.AverageOf([]response.Curve{curves[0], curves[1], curves[2], curves[4]})
	require.NoError(t, err)
	assert.Less(t, a.Level.At(40), without.Level.At(40)-1, "it still counts; leaving it out is the reviewer's to decide")
}

// The shares that the comment of outliers states.
func TestSeatingsThatScatterAlikeAreSeldomOutliers(t *testing.T) {
	race.Skip(t)
	random := rand.New(rand.NewPCG(4, 4))
	for _, c := range []struct {
		seatings int
		most     float64 // share of sets
	}{{3, 0.01}, {5, 0.004}, {8, 0.004}} {
		alarms := 0
		for range 500 {
			a, err := response.AverageOf(seated(t, c.seatings, 1, random))
			require.NoError(t, err)
			if len(a.Outliers) > 0 {
				alarms++
			}
		}
		assert.LessOrEqual(t, float64(alarms)/500, c.most, "%d seatings", c.seatings)
	}
}

func TestNoOutlierWithoutEvidence(t *testing.T) {
	grid := response.LogGrid(100, 10000, 3)
	for name, curves := range map[string][]response.Curve{
		"neither of two can be called one":     {slope(t, grid, 0, 0), slope(t, grid, 20, 0)},
		"no frequency at which both are known": {slope(t, grid, 0, 0), slope(t, grid, 1, 0), slope(t, []float64{20, 50}, 0, 0)},
		"too small to matter":                  {slope(t, grid, 0, 0), slope(t, grid, 0, 0), slope(t, grid, 0.4, 0)},
	} {
		a, err := response.AverageOf(curves)
		require.NoError(t, err, name)
		assert.Empty(t, a.Outliers, name)
	}
	level, err := response.AverageOf([]response.Curve{slope(t, grid, 0, 0), slope(t, grid, 0, 0), slope(t, grid, -6, 0)})
	require.NoError(t, err)
	require.Len(t, level.Outliers, 1, "a level that jumps is odd too")
	assert.InDelta(t, -6, level.Outliers[0].Deviation, exact*10, "double precision")
}
