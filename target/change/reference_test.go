package change_test

import (
	"math"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/known"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/target/change"
)

// design is a comparison of levels that scipy has made: testdata/reference/change.py.
type design struct {
	A, B                          []float64
	P, Value, Low, High, Possible float64
}

// leveled are seatings whose curves are flat, in turn.
func leveled(placed bool, conditions map[string][]float64, names ...string) []change.Seating {
	var all []change.Seating
	for i := range 2000 {
		for _, name := range names {
			if i >= len(conditions[name]) {
				continue
			}
			s := change.Seating{Condition: name, Response: flat(conditions[name][i]),
				Figures: map[string]response.Figure{"number": {Value: conditions[name][i], Unit: "dB"}}}
			if placed {
				s.Placement = strconv.Itoa(i)
			}
			all = append(all, s)
		}
	}
	return all
}

func flat(dB float64) response.Curve {
	f := response.LogGrid(500, 1000, 24)
	return response.Curve{Frequency: f, Level: slices.Repeat([]float64{dB}, len(f)), Rig: "plate", Valid: response.Band{Low: 500, High: 1000}}
}

func TestDesignsEqualSciPy(t *testing.T) {
	var reference struct{ Independent, Paired, Drift design }
	known.Values(t, "change.json", &reference)
	for _, one := range []struct {
		name   string
		want   design
		paired bool
		o      change.Config
	}{
		{"independent, ttest_ind", reference.Independent, false, change.Config{Random: true}},
		{"paired, ttest_rel", reference.Paired, true, change.Config{Random: true}},
		{"in turn, lstsq", reference.Drift, false, change.Config{InTurn: true}},
	} {
		c, err := change.Compare(leveled(one.paired, map[string][]float64{"a": one.want.A, "b": one.want.B}, "a", "b"), one.o)
		require.NoError(t, err, one.name)
		require.Len(t, c, 1)
		for _, f := range c[0].Figures {
			if f.Name == "tilt" {
				continue
			}
			low, high := f.Interval(0.95)
			assert.InDelta(t, one.want.Value, f.Value, 1e-9, "rounding: %s, %s", one.name, f.Name)
			assert.InDelta(t, one.want.Low, low, 1e-6, "rounding of a quantile: %s, %s", one.name, f.Name)
			assert.InDelta(t, one.want.High, high, 1e-6, "rounding of a quantile: %s, %s", one.name, f.Name)
			assert.InDelta(t, one.want.P, f.Chance(), 1e-7, "rounding: %s, %s", one.name, f.Name)
			assert.Equal(t, f.Chance(), f.P, "the same")
		}
		assert.InDelta(t, one.want.Possible, c[0].Possible, 1e-6, "two one-sided tests by hand, rounding of a quantile: %s", one.name)
	}
}

// The interval is Welch's where one condition scatters more than the other. The two one-sided tests
// take the same widening, which is more than theirs.
func TestUnequalScatterEqualsWelchBySciPy(t *testing.T) {
	var reference struct{ Unlike design }
	known.Values(t, "change.json", &reference)
	want := reference.Unlike
	c, err := change.Compare(leveled(false, map[string][]float64{"a": want.A, "b": want.B}, "a", "b"), change.Config{Random: true})
	require.NoError(t, err)
	for _, f := range c[0].Figures {
		if f.Name == "tilt" {
			continue
		}
		low, high := f.Interval(0.95)
		assert.InDelta(t, want.Value, f.Value, 1e-9, "rounding: %s", f.Name)
		assert.InEpsilon(t, (want.High-want.Low)/2, (high-low)/2, 2e-4, "the table of Student's quantile: %s", f.Name)
	}
	assert.GreaterOrEqual(t, c[0].Possible, want.Possible)
}

// Lakens, Social Psychological and Personality Science 8 (2017), the example of two independent
// groups, from memory: means 5.25 and 5.22, standard deviations 0.95 and 0.83, of 95 and 89; with
// bounds of 0.43 pooled standard deviations the test that counts has t = −2.69 and p = 0.004.
func TestEquivalenceOfAPublishedExample(t *testing.T) {
	spread := func(mean, deviation float64, n int) []float64 { // n values with exactly these
		out := make([]float64, n)
		for i := range out {
			out[i] = float64(i) - float64(n-1)/2
		}
		scale := deviation / math.Sqrt(float64(n)*float64(n+1)/12) // variance of 1 … n
		for i := range out {
			out[i] = mean + scale*out[i]
		}
		return out
	}
	bound := 0.43 * math.Sqrt((0.95*0.95+0.83*0.83)/2)
	groups := map[string][]float64{"a": spread(5.22, 0.83, 89), "b": spread(5.25, 0.95, 95)}
	possible := func(p float64) float64 {
		c, err := change.Compare(leveled(false, groups, "a", "b"), change.Config{Confidence: 1 - p, Random: true})
		require.NoError(t, err)
		return c[0].Possible
	}
	assert.Less(t, possible(0.0045), bound, "p rounds to 0.004")
	assert.Greater(t, possible(0.0035), bound, "p rounds to 0.004")
}

func TestRelabellingsEqualSciPy(t *testing.T) {
	var reference struct {
		Relabelled struct{ First, Second, T []float64 }
		Signs      struct{ Differences, T []float64 }
	}
	known.Values(t, "change.json", &reference)
	rows := func(values []float64) (out [][]float64) {
		for _, v := range values {
			out = append(out, slices.Repeat([]float64{v}, 30))
		}
		return out
	}
	for _, alpha := range []float64{0.05, 0.1, 0.2} {
		w := reference.Relabelled
		// SciPy leaves neither out: both have all the relabellings.
		assert.InDelta(t, w.T[len(w.T)-1-int(alpha*float64(len(w.T)))], change.Relabel(rows(append(slices.Clone(w.First), w.Second...)), len(w.First), alpha), 1e-9, "rounding")
		s := reference.Signs
		assert.InDelta(t, s.T[len(s.T)-1-int(alpha*float64(len(s.T)))], change.Relabel(rows(s.Differences), 0, alpha), 1e-9, "rounding")
	}
	assert.Zero(t, change.Relabel(rows(reference.Signs.Differences[:5]), 0, 0.05), "1 of 16 is more than 5 %")
}

func TestSeveralConditionsEqualTukeyAndDunnett(t *testing.T) {
	long.Skip(t)
	var reference struct {
		Several struct {
			Groups, Tukey [][]float64
			Against       []float64
		}
	}
	known.Values(t, "change.json", &reference)
	names, groups := []string{"a", "b", "c", "d"}, map[string][]float64{}
	for i, name := range names {
		groups[name] = reference.Several.Groups[i]
	}
	adjusted := func(c change.Change) (float64, int) {
		i := slices.IndexFunc(c.Figures, func(f change.FigureChange) bool { return f.Name == "number" })
		return c.Figures[i].Adjusted, len(c.Figures)
	}
	all, err := change.Compare(leveled(false, groups, names...), change.Config{Random: true})
	require.NoError(t, err)
	require.Len(t, all, 6)
	for _, c := range all {
		p, figures := adjusted(c)
		want := reference.Several.Tukey[slices.Index(names, c.From)][slices.Index(names, c.To)]
		assert.InDelta(t, min(1, want*float64(figures)), p, 1e-4, "the midpoint rule")
	}
	all, err = change.Compare(leveled(false, groups, names...), change.Config{Random: true, Against: "a"})
	require.NoError(t, err)
	require.Len(t, all, 3)
	for i, c := range all {
		p, figures := adjusted(c)
		assert.InDelta(t, min(1, reference.Several.Against[i]*float64(figures)), p, 0.0007*float64(figures), "three deviations of 5 million draws")
	}
}

func TestVarianceOfNISTSets(t *testing.T) {
	var reference struct {
		Variance []struct {
			Name            string
			Count           int
			Cells           [][]float64
			Between, Within float64
			Freedom         float64
		}
	}
	known.Values(t, "change.json", &reference)
	require.Len(t, reference.Variance, 10)
	// A number with 7 or 13 digits before those that vary keeps 9 or 3 of them in double precision;
	// the squares keep as many.
	closely := map[byte]float64{'1': 1e-11, '2': 1e-11, '3': 1e-11, '4': 1e-7, '5': 1e-7, '6': 1e-7, '7': 0.05, '8': 0.05, '9': 0.05, 'v': 1e-11}
	for _, set := range reference.Variance {
		cells := make([][]float64, len(set.Cells))
		for k, c := range set.Cells {
			for i := range set.Count {
				switch {
				case len(c) == set.Count:
					cells[k] = append(cells[k], c[i])
				case i == 0:
					cells[k] = append(cells[k], c[0])
				default:
					cells[k] = append(cells[k], c[2-i%2])
				}
			}
		}
		v := change.Analyse(cells, "dB")
		if len(cells[0]) < 10 {
			named := map[string][]float64{}
			for k, c := range cells {
				named[strconv.Itoa(k)] = c
			}
			s, err := change.AcrossSpecimens(leveled(false, named, "0", "1", "2", "3", "4"), response.Band{Low: 500, High: 1000})
			require.NoError(t, err)
			assert.Equal(t, v.BetweenSquare, s.Figures["number"].BetweenSquare, "the same way")
			assert.InEpsilon(t, set.Within, s.At(700).WithinSquare, 1e-9, set.Name)
			assert.InDelta(t, v.Next.Value, s.Mean.Level[3], 1e-9, "rounding")
		}
		within := closely[set.Name[len(set.Name)-1]]
		assert.InEpsilon(t, set.Between, v.BetweenSquare, within, set.Name)
		assert.InEpsilon(t, set.Within, v.WithinSquare, within, set.Name)
		assert.Equal(t, set.Freedom, v.WithinFreedom, set.Name)
		assert.Equal(t, float64(len(cells)-1), v.BetweenFreedom, set.Name)
	}
}
