package correction_test

import (
	"flag"
	"math"
	"strconv"
	"testing"

	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/correction"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Properties that hold for any numbers; more cases with -rapid.checks=N.

// checkFew checks a slow property in a fifth of the cases.
func checkFew(t *testing.T, property func(*rapid.T)) {
	t.Helper()
	checks := flag.Lookup("rapid.checks").Value
	all := checks.String()
	n, err := strconv.Atoi(all)
	require.NoError(t, err)
	require.NoError(t, checks.Set(strconv.Itoa(max(1, n/5))))
	defer func() { require.NoError(t, checks.Set(all)) }()
	rapid.Check(t, property)
}

// Whatever the response, the filters do not make it worse, and stay within their limits.
func TestPropertyCorrectionNeverRaisesTheDeviation(t *testing.T) {
	checkFew(t, func(t *rapid.T) {
		f := response.LogGrid(20, 20000, 6)
		level := make([]float64, len(f))
		for range rapid.IntRange(1, 5).Draw(t, "bumps") {
			centre, width, height := rapid.Float64Range(-5, 4).Draw(t, "octave"), rapid.Float64Range(0.1, 3).Draw(t, "width"), rapid.Float64Range(-15, 15).Draw(t, "height")
			for i := range level {
				level[i] += height * math.Exp(-math.Pow((math.Log2(f[i]/1000)-centre)/width, 2))
			}
		}
		c, err := response.NewCurve(f, level)
		require.NoError(t, err)
		limits := correction.Config{Filters: rapid.IntRange(1, 4).Draw(t, "filters"), Boost: rapid.Float64Range(1, 8).Draw(t, "boost"), Cut: rapid.Float64Range(1, 12).Draw(t, "cut")}
		k, err := correction.Fit([]response.Curve{c}, target.Flat(), target.Config{}, limits)
		require.NoError(t, err)
		require.LessOrEqual(t, k.After.RMS.Value, k.Before.RMS.Value+1e-9, "%v", k.Filters)
		require.LessOrEqual(t, len(k.Filters), limits.Filters)
		for i, filter := range k.Filters {
			require.True(t, filter.Gain <= limits.Boost+1e-9 && filter.Gain >= -limits.Cut-1e-9, "%v", filter)
			require.True(t, i == 0 || k.Filters[i-1].Frequency <= filter.Frequency, "by ascending frequency")
		}
		require.LessOrEqual(t, k.Preamp, 0.0)
		for _, g := range f {
			require.LessOrEqual(t, correction.LevelOf(k.Filters, g, 48000)+k.Preamp, 0.02, "no sine clips; the highest is sought on a grid")
		}
	})
}

// Filters of opposite gain undo each other, and the levels of filters in series add up.
func TestPropertyFiltersUndoEachOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(label string) correction.Filter {
			return correction.Filter{
				Shape:     rapid.SampledFrom([]correction.Shape{correction.Peaking, correction.LowShelf, correction.HighShelf}).Draw(t, label),
				Frequency: rapid.Float64Range(20, 20000).Draw(t, label+": frequency"), Gain: rapid.Float64Range(-15, 15).Draw(t, label+": gain"),
				Q: rapid.Float64Range(0.4, 4).Draw(t, label+": Q"),
			}
		}
		a, b := draw("a"), draw("b")
		at := rapid.Float64Range(20, 23000).Draw(t, "at")
		undo := a
		undo.Gain = -a.Gain
		require.InDelta(t, 0, correction.LevelOf([]correction.Filter{a, undo}, at, 48000), 1e-5, "low frequencies magnify rounding")
		require.InDelta(t, a.Level(at, 48000)+b.Level(at, 48000), correction.LevelOf([]correction.Filter{a, b}, at, 48000), 1e-9, "rounding")
		require.True(t, math.IsNaN(a.Level(24001, 48000)), "above half the sample rate")
		k, err := a.Coefficients(48000)
		require.NoError(t, err)
		require.Less(t, math.Abs(k.A2), 1.0, "stable: both poles inside the circle")
		require.Less(t, math.Abs(k.A1), 1+k.A2)
	})
}
