package correction_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.com/earnest/internal/testing/known"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/correction"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func curveOf(t testing.TB, level func(f float64) float64) response.Curve {
	t.Helper()
	grid := response.LogGrid(20, 20000, 48)
	levels := make([]float64, len(grid))
	for i, f := range grid {
		levels[i] = level(f)
	}
	c, err := response.NewCurve(grid, levels)
	require.NoError(t, err)
	return c
}

// undoing returns a curve that the filters make flat. It is made by their opposites: a cookbook
// filter of the opposite gain is exactly the inverse.
func undoing(t testing.TB, filters []correction.Filter) response.Curve {
	return curveOf(t, func(f float64) float64 { return -correction.LevelOf(filters, f, 48000) })
}

func fit(t testing.TB, c response.Curve, l correction.Config) correction.Correction {
	t.Helper()
	k, err := correction.Fit([]response.Curve{c}, target.Flat(), target.Config{}, l)
	require.NoError(t, err)
	return k
}

var five = []correction.Filter{
	{Shape: correction.LowShelf, Frequency: 105, Gain: 4, Q: 0.7},
	{Shape: correction.Peaking, Frequency: 260, Gain: -3, Q: 1.2},
	{Shape: correction.Peaking, Frequency: 1100, Gain: 2.5, Q: 1},
	{Shape: correction.Peaking, Frequency: 3200, Gain: -5, Q: 2.5},
	{Shape: correction.HighShelf, Frequency: 7000, Gain: 3, Q: 0.7},
}

func TestFiveKnownFiltersAreFoundByFive(t *testing.T) {
	c := undoing(t, five)
	k := fit(t, c, correction.Config{})
	assert.Less(t, k.After.RMS.Value, 0.05)
	assert.Greater(t, k.Before.RMS.Value, 1.5)
	require.Len(t, k.Filters, 5)
	for i, f := range k.Filters {
		assert.Equal(t, five[i].Shape, f.Shape)
		assert.InDelta(t, 0, math.Log2(f.Frequency/five[i].Frequency), 0.05)
		assert.InDelta(t, five[i].Gain, f.Gain, 0.2)
	}
}

// Filters drawn at random, up to 8 dB and a Q of 2.8. If neighbours overlap, other filters may do
// nearly as well, and the search may end with those. It has to come within 0.05 dB in nine of ten
// cases, and always within 0.25 dB.
func TestFiltersDrawnByChance(t *testing.T) {
	long.Skip(t)
	draws := 25
	if race.Enabled {
		draws = 2
	}
	var near int
	for seed := range draws {
		r := rand.New(rand.NewPCG(uint64(seed+1), 2))
		var filters []correction.Filter
		for i := range 5 {
			f := correction.Filter{Frequency: 60 * math.Pow(2, 1.5*float64(i)+r.Float64()), Gain: 2 + 6*r.Float64(), Q: 0.7}
			if r.IntN(2) == 0 {
				f.Gain /= -1.5
			}
			switch i {
			case 0:
				f.Shape = correction.LowShelf
			case 4:
				f.Shape = correction.HighShelf
			default:
				f.Q = 0.7 * math.Pow(4, r.Float64())
			}
			filters = append(filters, f)
		}
		rms := fit(t, undoing(t, filters), correction.Config{Boost: 12}).After.RMS.Value
		assert.Less(t, rms, 0.25, "seed %d", seed+1)
		if rms < 0.05 {
			near++
		}
	}
	assert.GreaterOrEqual(t, 10*near, 8*draws)
}

func TestNarrowNullIsNotChased(t *testing.T) {
	null := func(f float64) float64 {
		return -25 * math.Exp(-math.Pow(math.Log2(f/3000)/0.03, 2))
	}
	broad := correction.Filter{Shape: correction.Peaking, Frequency: 400, Gain: 5, Q: 1}
	k := fit(t, curveOf(t, func(f float64) float64 { return broad.Level(f, 48000) + null(f) }), correction.Config{})
	require.Len(t, k.UnfilledDips, 1)
	assert.True(t, k.UnfilledDips[0].Contains(3000))
	assert.Less(t, k.UnfilledDips[0].Octaves(), 0.35)
	require.Len(t, k.Filters, 1, "the broad peak and nothing else")
	assert.InDelta(t, 400, k.Filters[0].Frequency, 10)
	assert.InDelta(t, -5, k.Filters[0].Gain, 0.2)
	assert.InDelta(t, 0, k.Level.At(3000), 0.2)
}

func TestAFlatPairNeedsNoFilter(t *testing.T) {
	k := fit(t, curveOf(t, func(float64) float64 { return 94 }), correction.Config{})
	assert.Empty(t, k.Filters)
	assert.Zero(t, k.Preamp)
	assert.InDelta(t, 0, k.After.RMS.Value, 1e-9)
}

func TestFewFiltersAreFavoured(t *testing.T) {
	one := correction.Filter{Shape: correction.Peaking, Frequency: 2000, Gain: 5, Q: 1.4}
	k := fit(t, undoing(t, []correction.Filter{one}), correction.Config{Filters: 8})
	require.Len(t, k.Filters, 1)
	assert.InDelta(t, 2000, k.Filters[0].Frequency, 20)
	assert.InDelta(t, 5, k.Filters[0].Gain, 0.1)
	assert.InDelta(t, 1.4, k.Filters[0].Q, 0.05)
	k = fit(t, undoing(t, five), correction.Config{MinImprovement: 1})
	assert.Less(t, len(k.Filters), 5, "filters that lower the deviation by less than 1 dB are not proposed")
}

func TestLimitsAreKept(t *testing.T) {
	wild := curveOf(t, func(f float64) float64 {
		x := math.Log2(f / 1000)
		return 15*math.Sin(2*x) + 6*math.Cos(5*x)
	})
	l := correction.Config{Filters: 6, Band: response.Band{Low: 80, High: 4000}, Boost: 3, Cut: 5, MinQ: 0.8, MaxQ: 2}
	k := fit(t, wild, l)
	require.NotEmpty(t, k.Filters)
	assert.LessOrEqual(t, len(k.Filters), 6)
	for _, f := range k.Filters {
		assert.True(t, f.Frequency >= 80 && f.Frequency <= 4000 && f.Gain <= 3 && f.Gain >= -5 && f.Q >= 0.8 && f.Q <= 2, "%v", f)
	}
	assert.Less(t, k.After.RMS.Value, k.Before.RMS.Value)
	l.NoShelves = true
	for _, f := range fit(t, wild, l).Filters {
		assert.Equal(t, correction.Peaking, f.Shape)
	}
}

// The expected response is the one measured through the filters.
func TestExpectedResultIsTheResponseThroughTheFilters(t *testing.T) {
	c := undoing(t, five)
	k := fit(t, c, correction.Config{Filters: 2})
	require.NotEmpty(t, k.Filters)
	through := curveOf(t, func(f float64) float64 { return c.At(f) + correction.LevelOf(k.Filters, f, 48000) })
	d, err := target.Compare(through, target.Flat(), target.Config{})
	require.NoError(t, err)
	assert.InDelta(t, d.RMS.Value, k.After.RMS.Value, 1e-3) // dB; the curves have other points
	assert.InDelta(t, correction.LevelOf(k.Filters, 700, 48000), k.Level.At(700), 0.01)
}

func TestSmallDeviationsAreNotCorrected(t *testing.T) {
	wild := func(f float64) float64 { return 4*math.Sin(2*math.Log2(f/1000)) + 2*math.Cos(5*math.Log2(f/1000)) }
	gap := curveOf(t, wild)
	for i := 100; i < 200; i++ {
		gap.Level[i] = math.NaN()
	}
	two, err := response.NewCurve([]float64{20, 20000}, []float64{0, 10})
	require.NoError(t, err)
	for name, row := range map[string]struct {
		c    response.Curve
		band response.Band
		l    correction.Config
	}{
		"a gap":              {gap, response.Band{}, correction.Config{}},
		"half an octave":     {curveOf(t, wild), response.Band{Low: 900, High: 1200}, correction.Config{}},
		"no point of a grid": {curveOf(t, wild), response.Band{Low: 1001, High: 1010}, correction.Config{}},
		"two points":         {two, response.Band{}, correction.Config{}},
		"no room":            {curveOf(t, wild), response.Band{}, correction.Config{Band: response.Band{Low: 1000, High: 1001}}},
		"ten filters":        {curveOf(t, wild), response.Band{}, correction.Config{Filters: 10, MaxQ: 8}},
	} {
		t.Run(name, func(t *testing.T) {
			k, err := correction.Fit([]response.Curve{row.c}, target.Flat(), target.Config{Band: row.band}, row.l)
			require.NoError(t, err)
			assert.LessOrEqual(t, k.After.RMS.Value, k.Before.RMS.Value+1e-9)
		})
	}
}

// The coefficients by SciPy (testdata/reference/biquad.py), and |H| from them.
func TestCoefficientsEqualSciPy(t *testing.T) {
	var cases []struct {
		Shape                  string
		F, Q, Gain, SampleRate float64
		B, A                   []float64
		Frequency, Real, Imag  []float64
	}
	known.Values(t, "biquad.json", &cases)
	seen := 0
	for _, shape := range []correction.Shape{correction.Peaking, correction.LowShelf, correction.HighShelf} {
		for _, c := range cases {
			if c.Shape != string(shape) {
				continue
			}
			seen++
			f := correction.Filter{Shape: shape, Frequency: c.F, Gain: c.Gain, Q: c.Q}
			k, err := f.Coefficients(int(c.SampleRate))
			require.NoError(t, err)
			for i, v := range []float64{k.B0, k.B1, k.B2, k.A1, k.A2} {
				assert.InDelta(t, append(c.B, c.A[1:]...)[i], v, 1e-9) // rounding
			}
			for i, at := range c.Frequency {
				assert.InDelta(t, 20*math.Log10(math.Hypot(c.Real[i], c.Imag[i])), f.Level(at, int(c.SampleRate)), 1e-4) // low frequencies magnify rounding
			}
		}
	}
	assert.GreaterOrEqual(t, seen, 3)
}

// A sine at the most amplified frequency comes out at full scale. So does, at its largest, the sign
// of the reversed impulse response.
func TestPreampKeepsASineWithinFullScale(t *testing.T) {
	boost := correction.Filter{Shape: correction.Peaking, Frequency: 1000, Gain: 6, Q: 2}
	k := fit(t, undoing(t, []correction.Filter{boost}), correction.Config{})
	assert.InDelta(t, -6, k.Preamp, 0.05, "the gain of a peaking filter at its centre")
	c, err := k.Filters[0].Coefficients(48000)
	require.NoError(t, err)
	largest := func(x []float64) float64 {
		var most, x1, x2, y1, y2 float64
		for _, v := range x {
			y := c.B0*v + c.B1*x1 + c.B2*x2 - c.A1*y1 - c.A2*y2
			x1, x2, y1, y2 = v, x1, y, y1
			most = max(most, math.Abs(y))
		}
		return most
	}
	preamp := math.Pow(10, k.Preamp/20)
	sine := make([]float64, 48000)
	for i := range sine {
		sine[i] = preamp * math.Sin(2*math.Pi*k.Filters[0].Frequency*float64(i)/48000)
	}
	assert.InDelta(t, 1, largest(sine), 0.01)
}

func TestOtherRigCarriesItsWarning(t *testing.T) {
	c := undoing(t, five)
	c.Rig = "flat plate"
	to, err := target.FromPair("trusted", curveOf(t, func(float64) float64 { return 0 }).Offset(0))
	assert.Error(t, err)
	to = target.Flat()
	to.AnyRig, to.Curve.Rig, to.Name = false, "ear simulator", "trusted"
	_, err = correction.Fit([]response.Curve{c}, to, target.Config{}, correction.Config{})
	assert.ErrorIs(t, err, response.ErrOtherRig)
	k, err := correction.Fit([]response.Curve{c}, to, target.Config{AllowOtherRig: true}, correction.Config{})
	require.NoError(t, err)
	assert.Contains(t, k.Warnings[0], "the difference between the rigs is in every figure")
}

func TestWhatCannotBeFitted(t *testing.T) {
	c := undoing(t, five)
	for want, l := range map[string]correction.Config{
		"filters up to 24 kHz are at or above half the sample rate of 48 kHz; lower": {Band: response.Band{Low: 20, High: 24000}},
		"half the sample rate of 16 kHz":                                             {SampleRate: 16000},
		"-1 filters; ask for 1 to 20":                                                {Filters: -1},
		"21 filters":                                                                 {Filters: 21},
		"give the low end first":                                                     {Band: response.Band{Low: 200, High: 20}},
		"gains from −12 to +-3 dB":                                                   {Boost: -3},
		"a Q from 3 to 2":                                                            {MinQ: 3, MaxQ: 2},
		"an improvement of at least -1 dB":                                           {MinImprovement: -1},
		"a sample rate of -1 Hz":                                                     {SampleRate: -1},
		"a Q from NaN to 4; give the lower first, above zero,":                       {MinQ: math.NaN()},
	} {
		_, err := correction.Fit([]response.Curve{c}, target.Flat(), target.Config{}, l)
		assert.ErrorContains(t, err, want)
	}
	_, err := correction.Fit([]response.Curve{c}, target.Flat(), target.Config{}, correction.Config{SampleRate: 16000})
	assert.ErrorIs(t, err, correction.ErrTooHigh)
	_, err = correction.Fit([]response.Curve{c}, target.Flat(), target.Config{},
		correction.Config{SampleRate: 12, Band: response.Band{Low: 1, High: 5}})
	assert.ErrorIs(t, err, correction.ErrTooHigh)
	assert.ErrorContains(t, err, "responses from 20.3 Hz up are at or above half the sample rate of 12 Hz")
	_, err = correction.Fit(nil, target.Flat(), target.Config{}, correction.Config{})
	assert.ErrorContains(t, err, "give at least one seating")

	high := correction.Filter{Frequency: 20000, Gain: 3, Q: 1}
	_, err = high.Coefficients(32000)
	assert.EqualError(t, err, "correction: peaking at 2e+04 Hz, +3.0 dB, Q 1.00: at or above half the sample rate of 32000 Hz; leave it out or use a higher rate")
	assert.ErrorIs(t, err, correction.ErrTooHigh)
	assert.True(t, math.IsNaN(high.Level(1000, 32000)), "there is no such filter")
	assert.True(t, math.IsNaN(high.Level(25000, 48000)), "beyond half the rate")
	for _, f := range []correction.Filter{{Frequency: 0, Q: 1}, {Frequency: 100}, {Frequency: 100, Q: 1, Gain: math.NaN()}} {
		_, err = f.Coefficients(48000)
		assert.Error(t, err)
	}
	_, err = high.Coefficients(0)
	assert.ErrorContains(t, err, "a sample rate of 0 Hz")
}

func BenchmarkFitFive(b *testing.B) {
	c := undoing(b, five)
	b.ReportAllocs()
	for b.Loop() {
		fit(b, c, correction.Config{})
	}
}
