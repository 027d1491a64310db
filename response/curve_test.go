package response_test

import (
	"errors"
	"math"
	"testing"

	"example.com/earnest/response"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const exact = 1e-12 // double precision

func mustCurve(t testing.TB, frequency, level []float64) response.Curve {
	t.Helper()
	c, err := response.NewCurve(frequency, level)
	require.NoError(t, err)
	return c
}

// slope returns a curve of gain dB at 1 kHz that rises by perOctave dB per octave.
func slope(t testing.TB, grid []float64, gain, perOctave float64) response.Curve {
	level := make([]float64, len(grid))
	for i, f := range grid {
		level[i] = gain + perOctave*math.Log2(f/1000)
	}
	return mustCurve(t, grid, level)
}

func isNaN(t *testing.T, v float64, where ...any) {
	t.Helper()
	assert.True(t, math.IsNaN(v), "%v is known, but it should not be %v", v, where)
}

func TestImpossibleCurves(t *testing.T) {
	for name, c := range map[string]struct {
		frequency, level []float64
		says             string
	}{
		"unequal lengths":          {[]float64{1, 2, 3}, []float64{1, 2}, "3 frequencies and 2 levels"},
		"one point":                {[]float64{1}, []float64{1}, "at least two points; there are 1"},
		"no points":                {nil, nil, "there are 0"},
		"zero frequency":           {[]float64{0, 1}, []float64{1, 2}, "frequency 0 Hz at point 1"},
		"negative frequency":       {[]float64{-5, 1}, []float64{1, 2}, "frequency -5 Hz at point 1"},
		"frequency not a number":   {[]float64{1, math.NaN()}, []float64{1, 2}, "frequency NaN Hz at point 2"},
		"infinite frequency":       {[]float64{1, math.Inf(1)}, []float64{1, 2}, "frequency +Inf Hz at point 2"},
		"frequencies not sorted":   {[]float64{1, 3, 2}, []float64{1, 2, 3}, "2 Hz at point 3 comes after 3 Hz"},
		"the same frequency twice": {[]float64{1, 3, 3}, []float64{1, 2, 3}, "3 Hz at point 3 comes after 3 Hz"},
		"infinite level":           {[]float64{1, 2}, []float64{1, math.Inf(-1)}, "infinite level at 2 Hz"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := response.NewCurve(c.frequency, c.level)
			require.ErrorContains(t, err, c.says)
			assert.ErrorContains(t, err, "response: ")
		})
	}
}

// A slope in dB per octave is a straight line on a logarithmic axis.
func TestInterpolationIsStraightOverLogFrequency(t *testing.T) {
	c := slope(t, []float64{20, 50, 1000, 3000, 20000}, 3, -6)
	for _, f := range []float64{20, 21, 50, 333, 1000, 2999, 3000, 12345, 20000} {
		assert.InDelta(t, 3-6*math.Log2(f/1000), c.At(f), exact*100, "%v Hz; logarithms in double precision", f)
	}
	for _, f := range []float64{19.9, 20001, 0, -1, math.NaN(), math.Inf(1)} {
		isNaN(t, c.At(f), f)
	}
	assert.InDelta(t, c.At(20), c.At(20*(1-1e-12)), exact, "a frequency at the end of the band, within rounding, belongs to it")
	assert.InDelta(t, c.At(20000), c.At(20000*(1+1e-12)), exact, "a frequency at the end of the band, within rounding, belongs to it")
	c.Valid = response.AllFrequencies // wider than the points
	for _, f := range []float64{19.9, 20001} {
		isNaN(t, c.At(f), f)
	}
}

func TestInterpolationNeedsBothNeighbours(t *testing.T) {
	c := mustCurve(t, []float64{100, 200, 400, 800, 1600}, []float64{1, 2, math.NaN(), 4, 5})
	assert.Equal(t, 2.0, c.At(200))
	assert.Equal(t, 4.0, c.At(800))
	for _, f := range []float64{201, 400, 799} {
		isNaN(t, c.At(f), f)
	}
	assert.InDelta(t, 3.0, c.MeanOver(response.AllFrequencies), exact, "1·½ + 2 + 4 + 5·½ octaves of cells around known points, over 3")
}

func TestValidBandTravels(t *testing.T) {
	c := slope(t, response.LogGrid(20, 20000, 3), 0, 0).Within(response.Band{Low: 50, High: 10000})
	assert.Equal(t, response.Band{Low: 50, High: 10000}, c.Valid)
	isNaN(t, c.At(49))
	isNaN(t, c.At(10100))
	assert.Equal(t, 0.0, c.At(1000))
	narrow := c.Within(response.Band{Low: 500, High: 15000})
	assert.Equal(t, response.Band{Low: 500, High: 10000}, narrow.Valid, "it never widens")
	assert.Equal(t, 0.0, c.At(100), "the receiver is left alone")
	sum, err := c.Add(narrow)
	require.NoError(t, err)
	assert.Equal(t, narrow.Valid, sum.Valid)
	isNaN(t, sum.At(400))
	assert.Equal(t, narrow.Valid, narrow.Resample([]float64{100, 1000, 5000}).Valid)
	isNaN(t, narrow.Resample([]float64{100, 1000}).Level[0])
	assert.Equal(t, narrow.Valid, narrow.Offset(3).Valid)
	none := c.Within(response.Band{Low: 15000, High: 16000})
	assert.True(t, none.Valid.Empty())
	isNaN(t, none.At(1000))
}

func TestLevelsOutsideTheValidBandDoNotEnterASum(t *testing.T) {
	c := slope(t, []float64{100, 200, 400}, 0, 0)
	c.Valid = response.Band{Low: 150, High: 400} // narrowed by hand, levels left standing
	sum, err := c.Add(slope(t, []float64{100, 400}, 5, 0))
	require.NoError(t, err)
	isNaN(t, sum.Level[0])
	assert.InDelta(t, 5, sum.Level[1], exact, "double precision")
}

func TestNormalise(t *testing.T) {
	grid := response.LogGrid(20, 20000, 24)
	c := slope(t, grid, 94, -3)
	c.Reference = "20 µPa"

	at, err := c.NormaliseAt(500)
	require.NoError(t, err)
	assert.InDelta(t, 0, at.At(500), 1e-9, "double precision of 97 dB")
	assert.InDelta(t, -3, at.At(1000), 1e-9, "double precision of 97 dB")
	assert.Equal(t, "level at 500 Hz", at.Reference)

	// A slope is symmetric about the middle of a band on a logarithmic axis.
	assert.InDelta(t, c.At(1000), c.MeanOver(response.Band{Low: 500, High: 2000}), 1e-9, "every octave weighs the same")

	_, err = c.NormaliseAt(25000)
	assert.ErrorContains(t, err, "cannot normalise at 25 kHz: the curve is known over")
	isNaN(t, c.MeanOver(response.Band{Low: 21000, High: 22000}), "beyond the curve")
	_, err = response.Curve{}.NormaliseAt(1000)
	assert.ErrorContains(t, err, "known over nowhere")
}

// An octave has the same weight, however densely its points lie.
func TestMeanDoesNotDependOnWhereThePointsLie(t *testing.T) {
	var linear []float64
	for f := 100.0; f <= 1600; f++ {
		linear = append(linear, f)
	}
	want := 94 - 3*math.Log2(400.0/1000) // the level of the slope in the middle of 100 Hz–1.6 kHz
	assert.InDelta(t, want, slope(t, linear, 94, -3).MeanOver(response.AllFrequencies), 1e-3, "cells of 1 Hz")
	assert.InDelta(t, want, slope(t, response.LogGrid(100, 1600, 96), 94, -3).MeanOver(response.AllFrequencies), 0.02, "1 kHz-anchored grid begins 1/96 octave off")
	isNaN(t, slope(t, linear, 0, 0).MeanOver(response.Band{Low: 2000, High: 3000}))
}

func TestArithmetic(t *testing.T) {
	a := slope(t, response.LogGrid(20, 20000, 12), 10, 3)
	b := slope(t, []float64{10, 100, 40000}, 4, -1) // another grid
	sum, err := a.Add(b)
	require.NoError(t, err)
	difference, err := a.Sub(b)
	require.NoError(t, err)
	for _, f := range []float64{25, 1000, 16000} {
		assert.InDelta(t, 14+2*math.Log2(f/1000), sum.At(f), 1e-9, "double precision")
		assert.InDelta(t, 6+4*math.Log2(f/1000), difference.At(f), 1e-9, "double precision")
	}
	assert.Equal(t, a.Frequency, sum.Frequency)
	raised := a.Offset(2)
	assert.InDelta(t, 12, raised.At(1000), exact, "double precision")
	assert.InDelta(t, 10, a.At(1000), exact, "the receiver is left alone")
}

func TestReferenceOfADifference(t *testing.T) {
	a := slope(t, []float64{100, 1000}, 0, 0)
	a.Reference = "20 µPa"
	d, err := a.Sub(a)
	require.NoError(t, err)
	assert.Equal(t, "the other curve", d.Reference, "one sound pressure over another is a ratio")
	calibration := slope(t, []float64{100, 1000}, 0, 0)
	calibration.Reference = "the microphone's nominal sensitivity"
	corrected, err := a.Sub(calibration)
	require.NoError(t, err)
	assert.Equal(t, "20 µPa", corrected.Reference, "a correction leaves it a sound pressure")
}

// JCGM 100:2008, 5.1.2: independent uncertainties add as squares.
func TestUncertaintiesCombineByRootSumOfSquares(t *testing.T) {
	a, b := slope(t, []float64{100, 1000, 10000}, 0, 0), slope(t, []float64{100, 10000}, 0, 0)
	a.Uncertainty, b.Uncertainty = []float64{3, 0.3, math.NaN()}, []float64{4, 0.4}
	sum, err := a.Add(b)
	require.NoError(t, err)
	assert.InDelta(t, 5, sum.Uncertainty[0], exact, "3² + 4² = 5²")
	assert.InDelta(t, math.Hypot(0.3, 2.2), sum.Uncertainty[1], exact, "half-way between 4 and 0.4 on a logarithmic axis")
	isNaN(t, sum.Uncertainty[2])
	isNaN(t, a.UncertaintyAt(5000))
	assert.InDelta(t, 3, a.UncertaintyAt(100), exact, "double precision")
	assert.Equal(t, response.Figure{Value: a.At(100), Uncertainty: 3, Unit: "dB"}, a.Figure(100))

	b.Uncertainty = nil
	difference, err := a.Sub(b)
	require.NoError(t, err)
	assert.Nil(t, difference.Uncertainty, "a missing uncertainty is not a small one")
	isNaN(t, difference.UncertaintyAt(100))
}

func TestCurvesOfTwoRigsAreNotPutTogether(t *testing.T) {
	plate, ear := slope(t, []float64{100, 1000}, 0, 0), slope(t, []float64{100, 1000}, 0, 0)
	plate.Rig, ear.Rig = "flat plate", "ear simulator"
	for _, combine := range []func(response.Curve) (response.Curve, error){plate.Add, plate.Sub} {
		_, err := combine(ear)
		require.True(t, errors.Is(err, response.ErrOtherRig))
		assert.ErrorContains(t, err, `"flat plate" and "ear simulator"`)
	}
	meant := ear
	meant.Rig = ""
	sum, err := plate.Add(meant)
	require.NoError(t, err, "clearing one says that it is meant")
	assert.Equal(t, "flat plate", sum.Rig)
	sum, err = meant.Add(plate)
	require.NoError(t, err)
	assert.Equal(t, "flat plate", sum.Rig)
}

func TestLogGrid(t *testing.T) {
	grid := response.LogGrid(20, 20000, 12)
	assert.Contains(t, grid, 1000.0, "anchored at 1 kHz")
	for i := 1; i < len(grid); i++ {
		require.InDelta(t, 1.0/12, math.Log2(grid[i]/grid[i-1]), 1e-12, "double precision")
	}
	assert.GreaterOrEqual(t, grid[0], 20.0)
	assert.Less(t, grid[0], 20*math.Exp2(1.0/12))
	assert.LessOrEqual(t, grid[len(grid)-1], 20000.0)
	assert.Subset(t, grid, response.LogGrid(100, 500, 12), "grids share their points")
	ends := response.LogGrid(125, 8000, 1)
	require.Len(t, ends, 7, "ends that stand on the grid are kept")
	assert.InDelta(t, 125, ends[0], 1e-9, "double precision")
	assert.Equal(t, []float64{1000}, response.LogGrid(1000, 1000, 3), "from a point to itself")
	for name, g := range map[string][]float64{
		"from the smallest number": response.LogGrid(5e-324, 5e-324, 1), // a thousandth of it is 0
		"zero low":                 response.LogGrid(0, 100, 3),
		"reversed":                 response.LogGrid(100, 50, 3),
		"no density":               response.LogGrid(20, 100, 0),
		"infinite":                 response.LogGrid(20, math.Inf(1), 3),
		"not a number":             response.LogGrid(math.NaN(), 100, 3),
		"between points":           response.LogGrid(1001, 1002, 3),
	} {
		assert.Nil(t, g, name)
	}
}

func TestBand(t *testing.T) {
	b := response.Band{Low: 20, High: 20000}
	assert.True(t, b.Contains(20) && b.Contains(20000))
	assert.False(t, b.Contains(19.9) || b.Contains(20001) || b.Contains(math.NaN()))
	assert.Equal(t, response.Band{Low: 50, High: 20000}, b.Intersect(response.Band{Low: 50, High: 1e6}))
	assert.Equal(t, b, b.Intersect(response.AllFrequencies))
	assert.True(t, b.Intersect(response.Band{Low: 30000, High: 40000}).Empty())
	assert.False(t, response.Band{}.Contains(0))
	assert.InDelta(t, math.Log2(1000), b.Octaves(), exact, "double precision")
	assert.Zero(t, response.Band{Low: 5, High: 5}.Octaves())
	assert.Equal(t, "20 Hz–20 kHz", b.String())
	assert.Equal(t, "nowhere", response.Band{}.String())
	assert.Equal(t, "everywhere", response.AllFrequencies.String())
	assert.Equal(t, "from 20 Hz", response.Band{Low: 20, High: math.Inf(1)}.String())
}

func TestFrequenciesInWords(t *testing.T) {
	for f, want := range map[float64]string{
		31.5: "31.5 Hz", 1000: "1 kHz", 999.4: "999 Hz", 999.5: "1 kHz", 12500: "12.5 kHz", 0.1: "0.1 Hz",
		19999: "20 kHz", 1234: "1.23 kHz", 0: "0 Hz", 100000: "100 kHz", -20: "-20 Hz",
	} {
		assert.Equal(t, want, response.FormatFrequency(f))
	}
	assert.Equal(t, "NaN Hz", response.FormatFrequency(math.NaN()))
	assert.Equal(t, "+Inf Hz", response.FormatFrequency(math.Inf(1)))
}
