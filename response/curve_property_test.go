package response_test

import (
	"bytes"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"
	"pgregory.net/rapid"

	"example.com/earnest/response"
)

// drawCurve returns a curve of which some levels are not known.
func drawCurve(t *rapid.T, label string) response.Curve {
	n := rapid.IntRange(2, 20).Draw(t, label+": points")
	f := []float64{rapid.Float64Range(10, 200).Draw(t, label+": lowest")}
	for range n - 1 {
		f = append(f, f[len(f)-1]*math.Exp2(rapid.Float64Range(0.01, 1).Draw(t, label+": step")))
	}
	level := rapid.SliceOfN(rapid.Float64Range(-100, 100), n, n).Draw(t, label+": level")
	c, err := response.NewCurve(f, level)
	require.NoError(t, err)
	for _, k := range rapid.SliceOfN(rapid.IntRange(0, n-1), 0, 3).Draw(t, label+": not known") {
		level[k] = math.NaN()
	}
	if rapid.Bool().Draw(t, label+": sure") {
		c.Uncertainty = rapid.SliceOfN(rapid.Float64Range(0, 5), n, n).Draw(t, label+": uncertainty")
		for i, v := range level {
			if math.IsNaN(v) {
				c.Uncertainty[i] = math.NaN()
			}
		}
	}
	return c
}

func TestPropertyInterpolationLiesBetweenKnownNeighbours(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCurve(t, "c")
		for i, f := range c.Frequency {
			v := c.At(f)
			require.True(t, v == c.Level[i] || math.IsNaN(v) && math.IsNaN(c.Level[i]), "a grid point keeps its level")
		}
		f := math.Exp(rapid.Float64Range(math.Log(5), math.Log(1e6)).Draw(t, "ln f"))
		i, _ := slices.BinarySearch(c.Frequency, f)
		switch v := c.At(f); {
		case i == 0 && f < c.Frequency[0]*(1-1e-8) || i == len(c.Frequency) && f > c.Frequency[i-1]*(1+1e-8):
			require.True(t, math.IsNaN(v), "nothing is known beyond the ends")
		case i == 0 || i == len(c.Frequency) || c.Frequency[i] == f:
		case math.IsNaN(c.Level[i-1]) || math.IsNaN(c.Level[i]):
			require.True(t, math.IsNaN(v), "unknown beside an unknown point")
		default:
			low, high := min(c.Level[i-1], c.Level[i]), max(c.Level[i-1], c.Level[i])
			require.True(t, low-1e-12 <= v && v <= high+1e-12, "rounding")
		}
	})
}

// sameWhereKnown compares levels. The same ones have to be not known.
func sameWhereKnown(t *rapid.T, want, got []float64, tolerance float64) {
	require.Len(t, got, len(want))
	for i := range want {
		require.Equal(t, math.IsNaN(want[i]), math.IsNaN(got[i]), "point %d", i)
		require.False(t, math.Abs(want[i]-got[i]) > tolerance, "point %d: %v and %v", i, want[i], got[i])
	}
}

func TestPropertyArithmeticOfCurves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawCurve(t, "a"), drawCurve(t, "b")
		sum, err := a.Add(b)
		require.NoError(t, err)
		other := b.Resample(a.Frequency)
		for i := range a.Level {
			if math.IsNaN(a.Level[i]) || math.IsNaN(other.Level[i]) {
				require.True(t, math.IsNaN(sum.Level[i]), "the sum is not known where one curve is not known")
			}
		}
		back, err := sum.Sub(b)
		require.NoError(t, err)
		known := slices.Clone(a.Level)
		floats.AddScaled(known, 0, sum.Level) // NaN where the sum is
		sameWhereKnown(t, known, back.Level, 1e-12)
		none, err := a.Sub(a)
		require.NoError(t, err)
		for i, v := range none.Level {
			require.True(t, v == 0 || math.IsNaN(v) && math.IsNaN(a.Level[i]))
		}
		for i := range sum.Uncertainty {
			require.False(t, sum.Uncertainty[i] < max(a.Uncertainty[i], other.Uncertainty[i]), "no sum is surer than its parts")
		}
		if a.Uncertainty == nil || b.Uncertainty == nil {
			require.Nil(t, sum.Uncertainty, "a missing uncertainty is not a small one")
		}
		gain := rapid.Float64Range(-200, 200).Draw(t, "gain")
		sameWhereKnown(t, a.Level, a.Offset(gain).Offset(-gain).Level, 1e-12)
		sameWhereKnown(t, a.Level, a.Resample(a.Frequency).Level, 0)
		mean, of := a.MeanOver(response.AllFrequencies), a.Offset(gain).MeanOver(response.AllFrequencies)
		require.Equal(t, math.IsNaN(mean), math.IsNaN(of))
		require.False(t, math.Abs(mean+gain-of) > 1e-11, "rounding")
	})
}

func TestPropertyNormalisedCurvesAreZeroWhereTheySay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCurve(t, "c")
		band := response.Band{Low: rapid.Float64Range(5, 1000).Draw(t, "low"), High: rapid.Float64Range(1000, 1e5).Draw(t, "high")}
		at := c.Frequency[rapid.IntRange(0, len(c.Frequency)-1).Draw(t, "at")]
		normal, err := c.NormaliseAt(at)
		require.Equal(t, math.IsNaN(c.At(at)), err != nil, "an error where the level is not known, and only there")
		if err == nil {
			require.InDelta(t, 0, normal.At(at), 1e-13)
			shape, err := c.Sub(normal)
			require.NoError(t, err)
			require.InDelta(t, c.At(at), shape.MeanOver(response.AllFrequencies), 1e-11, "a shift and nothing else")
		}
		if mean := c.MeanOver(band); !math.IsNaN(mean) {
			require.InDelta(t, 0, c.Offset(-mean).MeanOver(band), 1e-11, "rounding")
		}
	})
}

func TestPropertyNarrowingDoesNotWiden(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCurve(t, "c")
		band := response.Band{Low: rapid.Float64Range(5, 1000).Draw(t, "low"), High: rapid.Float64Range(1000, 1e5).Draw(t, "high")}
		narrow := c.Within(band)
		require.Equal(t, c.Valid.Intersect(band), narrow.Valid)
		require.LessOrEqual(t, narrow.Valid.Octaves(), min(c.Valid.Octaves(), band.Octaves())+1e-12)
		sameWhereKnown(t, narrow.Level, narrow.Within(band).Level, 0)
		for i, v := range narrow.Level {
			require.True(t, v == c.Level[i] || math.IsNaN(v), "a level stays or becomes not known")
		}
		noise := c.Offset(-10) // the curve itself stands by 10 dB above it
		sameWhereKnown(t, c.Level, c.MaskBelow(noise, 9.9).Level, 0)
		for _, v := range c.MaskBelow(noise, 10.1).Level {
			require.True(t, math.IsNaN(v))
		}
	})
}

func TestPropertyWrittenCurveReadsBack(t *testing.T) {
	words := rapid.StringMatching(`([a-zA-Zäµ0-9]([a-zäµ0-9:;,.# ]{0,20}[a-zA-Zäµ0-9])?)?`)
	rapid.Check(t, func(t *rapid.T) {
		c := drawCurve(t, "c")
		c.Rig, c.Reference = words.Draw(t, "rig"), words.Draw(t, "reference")
		if rapid.Bool().Draw(t, "narrow") {
			c = c.Within(response.Band{Low: rapid.Float64Range(5, 1000).Draw(t, "low"), High: rapid.Float64Range(1000, 1e5).Draw(t, "high")})
		}
		var text bytes.Buffer
		require.NoError(t, response.WriteCurve(&text, c, nil))
		back, err := response.ReadCurve(&text, "back.txt")
		require.NoError(t, err)
		require.Equal(t, c.Frequency, back.Frequency)
		sameWhereKnown(t, c.Level, back.Level, 0)
		require.Equal(t, c.Uncertainty == nil, back.Uncertainty == nil)
		if c.Uncertainty != nil {
			sameWhereKnown(t, c.Uncertainty, back.Uncertainty, 0)
		}
		require.Equal(t, []any{c.Rig, c.Reference, c.Valid}, []any{back.Rig, back.Reference, back.Valid})
	})
}

// The order in which a pair was put on the rig does not matter, nor does the level.
func TestPropertyAverageDoesNotDependOnOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		first := drawCurve(t, "first")
		curves := []response.Curve{first}
		for range rapid.IntRange(0, 5).Draw(t, "more") {
			c := first
			c.Level = rapid.SliceOfN(rapid.Float64Range(-100, 100), len(first.Level), len(first.Level)).Draw(t, "level")
			curves = append(curves, c)
		}
		a, err := response.AverageOf(curves)
		require.NoError(t, err)
		b, err := response.AverageOf(rapid.Permutation(curves).Draw(t, "order"))
		require.NoError(t, err)
		sameWhereKnown(t, a.Level.Level, b.Level.Level, 1e-11)
		sameWhereKnown(t, a.Power.Level, b.Power.Level, 1e-11)
		gain := rapid.Float64Range(-50, 50).Draw(t, "gain")
		for k, c := range curves {
			curves[k] = c.Offset(gain)
		}
		raised, err := response.AverageOf(curves)
		require.NoError(t, err)
		sameWhereKnown(t, a.Level.Offset(gain).Level, raised.Level.Level, 1e-11)
		if len(curves) > 1 {
			sameWhereKnown(t, a.Spread, raised.Spread, 1e-10)
			sameWhereKnown(t, a.Level.HalfWidth(0.9), b.Level.HalfWidth(0.9), 1e-9)
		}
		for i, v := range a.Power.Level {
			require.False(t, v < a.Level.Level[i]-1e-10, "the mean of powers is not below that of levels")
			require.False(t, math.IsNaN(first.Level[i]) && !math.IsNaN(v), "known only where all curves are known")
		}
	})
}

func TestPropertyIntervalsHoldTheirValueAndGrow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := response.Figure{Value: rapid.Float64Range(-1e6, 1e6).Draw(t, "value"), DegreesOfFreedom: float64(rapid.IntRange(0, 50).Draw(t, "freedom")),
			Uncertainty: rapid.Float64Range(0, 1e3).Draw(t, "uncertainty"), Unit: "dB"}
		p := rapid.Float64Range(0.01, 0.98).Draw(t, "probability")
		low, high := f.Interval(p)
		lower, higher := f.Interval(p + 0.01)
		require.True(t, lower <= low && low <= f.Value && f.Value <= high && high <= higher)
		require.InDelta(t, f.Value, (low+high)/2, 1e-9*(1+math.Abs(f.Value)+high-low), "even about the value; rounding")
		require.InDelta(t, f.Coverage(p), -f.Coverage(1-p), 1e-8*(1+math.Abs(f.Coverage(p))), "Student's distribution is even")
		f.Uncertainty = math.NaN()
		low, high = f.WithBounds(-1e9, 1e9).Interval(p)
		require.True(t, math.IsNaN(low) && math.IsNaN(high), "an unknown uncertainty is not zero")
	})
}
