package target_test

import (
	"math"
	"slices"
	"testing"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/target"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Properties that hold for any numbers; more cases with -rapid.checks=N.

// drawCurve returns a rough curve from below 50 Hz to above 10 kHz.
func drawCurve(t *rapid.T, label string) response.Curve {
	f := []float64{rapid.Float64Range(20, 50).Draw(t, label+": lowest")}
	for f[len(f)-1] < 10000 {
		f = append(f, f[len(f)-1]*math.Exp2(rapid.Float64Range(0.2, 2).Draw(t, label+": step")))
	}
	c, err := response.NewCurve(f, rapid.SliceOfN(rapid.Float64Range(-20, 20), len(f), len(f)).Draw(t, label))
	require.NoError(t, err)
	c.Rig = "flat plate"
	return c
}

func pair(t *rapid.T, c response.Curve) target.Target {
	to, err := target.FromPair("another", c)
	require.NoError(t, err)
	return to
}

func drawOptions(t *rapid.T) target.Config {
	weight := rapid.SampledFrom([]func(float64) float64{nil, target.PerOctave, target.PerERB, target.SpeechImportance}).Draw(t, "weight")
	return target.Config{Band: response.Band{Low: 50, High: 10000}, Weight: weight}
}

func compared(t *rapid.T, c response.Curve, to target.Target, o target.Config) target.Deviation {
	d, err := target.Compare(c, to, o)
	require.NoError(t, err)
	return d
}

// figures returns the figures of the shape, in a fixed order.
func figures(d target.Deviation) []float64 {
	return []float64{d.RMS.Value, d.MeanAbsolute.Value, d.Tilt.Value, d.Ripple.Value, d.Share.Value, d.Max.Level.Value}
}

// The level of the recording does not matter, whatever the alignment.
func TestPropertyOverallLevelDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, to, o := drawCurve(t, "response"), pair(t, drawCurve(t, "target")), drawOptions(t)
		o.Align = rapid.SampledFrom([]target.Alignment{{}, target.Alignment{At: 1000}, target.Alignment{Over: response.Band{Low: 200, High: 2000}}}).Draw(t, "alignment")
		gain := rapid.Float64Range(-100, 100).Draw(t, "gain")
		a, b := compared(t, c, to, o), compared(t, c.Offset(gain), to, o)
		require.InDelta(t, a.Offset.Value-gain, b.Offset.Value, 1e-9, "rounding")
		require.InDeltaSlice(t, figures(a)[:4], figures(b)[:4], 1e-9, "rounding")
		require.InDelta(t, a.Share.Value, b.Share.Value, 1e-9, "rounding")
		require.InDelta(t, math.Abs(a.Max.Level.Value), math.Abs(b.Max.Level.Value), 1e-9, "rounding, and of two as wide")
	})
}

// The figures of A against B are those of B against A, and scaling the deviation scales the
// figures.
func TestPropertyDistanceIsSymmetricAndScales(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, tc, o := drawCurve(t, "response"), drawCurve(t, "target"), drawOptions(t)
		o.Tolerance = target.PlusMinus(2)
		a, b := compared(t, c, pair(t, tc), o), compared(t, tc, pair(t, c), o)
		require.InDelta(t, a.RMS.Value, b.RMS.Value, 1e-9, "rounding")
		require.InDelta(t, a.MeanAbsolute.Value, b.MeanAbsolute.Value, 1e-9, "rounding")
		require.InDelta(t, a.Tilt.Value, -b.Tilt.Value, 1e-9, "rounding")
		require.InDelta(t, a.Ripple.Value, b.Ripple.Value, 1e-9, "rounding")
		require.InDelta(t, a.Share.Value, b.Share.Value, 1e-9, "rounding")

		times := rapid.Float64Range(0.1, 5).Draw(t, "times")
		o.Tolerance = target.PlusMinus(2 * times)
		scaled := c.Offset(0)
		for i := range scaled.Level {
			scaled.Level[i] *= times
		}
		once, more := compared(t, c, target.Flat(), target.Config{Band: o.Band, Weight: o.Weight, Tolerance: target.PlusMinus(2)}), compared(t, scaled, target.Flat(), o)
		require.InDelta(t, times*once.RMS.Value, more.RMS.Value, 1e-9, "rounding")
		require.InDelta(t, times*once.MeanAbsolute.Value, more.MeanAbsolute.Value, 1e-9, "rounding")
		require.InDelta(t, times*once.Tilt.Value, more.Tilt.Value, 1e-9, "rounding")
		require.InDelta(t, once.Share.Value, more.Share.Value, 1e-9, "rounding")
	})
}

// The mean absolute deviation does not exceed the rms, nor the rms the largest deviation; tilt and
// ripple add up to the rms in mean square.
func TestPropertyFiguresBoundEachOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, o := drawCurve(t, "response"), drawOptions(t)
		d := compared(t, c, target.Flat(), o)
		require.LessOrEqual(t, d.MeanAbsolute.Value, d.RMS.Value+1e-12)
		require.LessOrEqual(t, d.RMS.Value, math.Abs(d.Max.Level.Value)+1e-12)
		require.LessOrEqual(t, d.Ripple.Value, d.RMS.Value+1e-12)
		require.True(t, d.Share.Value >= 0 && d.Share.Value <= 1+1e-12)
		if even := compared(t, c, target.Flat(), target.Config{Band: o.Band}); true {
			octaves := math.Log2(10000. / 50)
			require.InDelta(t, even.RMS.Value, math.Hypot(even.Ripple.Value, even.Tilt.Value*octaves/math.Sqrt(12)), 1e-9, "tilt and ripple are orthogonal")
		}
	})
}

// More points on the same straight lines change nothing.
func TestPropertyFiguresDoNotDependOnTheGrid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, to, o := drawCurve(t, "response"), pair(t, drawCurve(t, "target")), drawOptions(t)
		between := rapid.SliceOfN(rapid.Float64Range(c.Frequency[0], c.Frequency[len(c.Frequency)-1]), 1, 30).Draw(t, "points")
		grid := append(slices.Clone(c.Frequency), between...)
		slices.Sort(grid)
		dense := c.Resample(slices.Compact(grid))
		require.InDeltaSlice(t, figures(compared(t, c, to, o))[:5], figures(compared(t, dense, to, o))[:5], 1e-6, "a weight that is not a power of frequency is followed in steps of 1/24 octave")
	})
}

// Where the response is not known nothing is judged: other values there do not matter.
func TestPropertyNotKnownIsNotJudged(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, o := drawCurve(t, "response"), drawOptions(t)
		first := slices.IndexFunc(c.Frequency, func(f float64) bool { return f > o.Band.Low })
		k := rapid.IntRange(first, len(c.Frequency)-2).Draw(t, "not known")
		c.Level[k] = math.NaN()
		d := compared(t, c, target.Flat(), target.Config{Band: o.Band})
		require.Less(t, d.Coverage, 1.0)
		require.NotEmpty(t, d.Warnings)
		require.True(t, math.IsNaN(d.Curve.Figure(c.Frequency[k]).Value))
		none := c.Offset(math.NaN())
		_, err := target.Compare(none, target.Flat(), o)
		require.Error(t, err, "nothing is known")
	})
}

// drawSessions returns pairs with seatings, each with its own name.
func drawSessions(t *rapid.T) []target.Pair {
	grid := response.LogGrid(50, 10000, 2)
	var sessions []target.Pair
	for k := range rapid.IntRange(2, 4).Draw(t, "sessions") {
		s := target.Pair{Name: string(rune('a' + k))}
		for range rapid.IntRange(2, 4).Draw(t, "seatings") {
			c, err := response.NewCurve(grid, rapid.SliceOfN(rapid.Float64Range(-10, 10), len(grid), len(grid)).Draw(t, "seating"))
			require.NoError(t, err)
			c.Rig = "flat plate"
			s.Seatings = append(s.Seatings, c)
		}
		sessions = append(sessions, s)
	}
	return sessions
}

// The ranking does not depend on the order of sessions or of seatings, nor on the level.
func TestPropertyRankingDoesNotDependOnOrder(t *testing.T) {
	long.Skip(t)
	rapid.Check(t, func(t *rapid.T) {
		sessions := drawSessions(t)
		o := target.Config{Band: response.Band{Low: 60, High: 8000}}
		r, err := target.Rank(sessions, target.Flat(), o)
		require.NoError(t, err)
		mixed := slices.Clone(sessions)
		for k, s := range mixed {
			gain := rapid.Float64Range(-50, 50).Draw(t, "gain")
			mixed[k].Seatings = nil
			for _, c := range rapid.Permutation(s.Seatings).Draw(t, "seatings") {
				mixed[k].Seatings = append(mixed[k].Seatings, c.Offset(gain))
			}
		}
		mixed = rapid.Permutation(mixed).Draw(t, "sessions")
		m, err := target.Rank(mixed, target.Flat(), o)
		require.NoError(t, err)
		for i := range r.Places {
			if i > 0 {
				require.GreaterOrEqual(t, r.Places[i].Deviation.RMS.Value, r.Places[i-1].Deviation.RMS.Value, "the least first")
			}
			require.InDelta(t, r.Places[i].Deviation.RMS.Value, m.Places[i].Deviation.RMS.Value, 1e-8, "rounding")
		}
		for _, d := range r.Differences {
			a, b := r.Places[d.A].Name, r.Places[d.B].Name
			same := between(t, m, a, b)
			require.InDelta(t, d.RMS.Value, same.RMS.Value, 1e-8, "rounding")
			require.InDelta(t, d.P, same.P, 1e-6, "rounding")
			require.GreaterOrEqual(t, d.Adjusted, d.P, "the adjustment for several comparisons only raises P")
		}
	})
}

// With a wider limit a yes never becomes a no. With a lower confidence a yes never becomes a
// "cannot tell".
func TestPropertyDecisionsAreMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := response.Figure{Value: rapid.Float64Range(-10, 10).Draw(t, "value"), Uncertainty: rapid.Float64Range(0, 3).Draw(t, "uncertainty"), DegreesOfFreedom: float64(rapid.IntRange(0, 9).Draw(t, "freedom")), Unit: "dB"}
		low, high := rapid.Float64Range(-10, 0).Draw(t, "low"), rapid.Float64Range(0, 10).Draw(t, "high")
		confidence := rapid.Float64Range(0.55, 0.99).Draw(t, "confidence")
		more := rapid.Float64Range(0, 10).Draw(t, "more")
		is, wider, surer := target.Decide(f, low, high, confidence), target.Decide(f, low-more, high+more, confidence), target.Decide(f, low, high, confidence+0.009)
		if is == target.Yes {
			require.Equal(t, target.Yes, wider)
			require.NotEqual(t, target.No, surer)
		}
		if surer != target.CannotTell {
			require.Equal(t, surer, is)
		}
		require.Equal(t, target.CannotTell, target.Decide(withUncertainty(f, math.NaN()), low, high, confidence))
		f.Value = math.NaN()
		require.Equal(t, target.CannotTell, target.Decide(f, low, high, confidence))
	})
}
