package target_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"example.com/earnest/response"
	"example.com/earnest/target"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
)

// curveOn makes a curve on a rig from a formula in octaves from 1 kHz.
func curveOn(t testing.TB, frequency []float64, level func(octaves float64) float64) response.Curve {
	t.Helper()
	levels := make([]float64, len(frequency))
	for i, f := range frequency {
		levels[i] = level(math.Log2(f / 1000))
	}
	c, err := response.NewCurve(frequency, levels)
	require.NoError(t, err)
	c.Rig = "flat plate"
	return c
}

func compare(t testing.TB, c response.Curve, to target.Target, o target.Config) target.Deviation {
	t.Helper()
	d, err := target.Compare(c, to, o)
	require.NoError(t, err)
	return d
}

// eightOctaves has exactly 8 octaves, four to each side of 1 kHz.
var eightOctaves = response.Band{Low: 62.5, High: 16000}

func fftBins() []float64 {
	var f []float64
	for k := 1; k <= 4096; k++ {
		f = append(f, float64(k)*48000/8192)
	}
	return f
}

// A straight line s·x over B octaves, moved to a mean of zero, has the rms
// |s|·B/√12 and the mean absolute value |s|·B/4 of a uniform distribution.
func TestTiltHasTheClosedFormOfAStraightLine(t *testing.T) {
	grids := map[string][]float64{
		"two points":           {20, 20000},
		"thirds of an octave":  append(append([]float64{20}, response.LogGrid(20.5, 19900, 3)...), 20000),
		"48 to the octave":     response.LogGrid(15, 22000, 48),
		"bins of a transform":  fftBins(),
		"uneven":               {19, 20, 21, 300, 301, 302, 5000, 19000, 21000},
		"off the band's edges": {10, 33, 47, 24000},
	}
	octaves := math.Log2(1000) // 20 Hz to 20 kHz
	for name, grid := range grids {
		for _, slope := range []float64{-3, -0.125, 0.8, 6} {
			t.Run(name, func(t *testing.T) {
				c := curveOn(t, grid, func(x float64) float64 { return 90 + slope*x })
				d := compare(t, c, target.Flat(), target.Config{})
				const tolerance = 1e-9 // dB: the quadrature is exact; only rounding is left
				assert.InDelta(t, slope, d.Tilt.Value, tolerance)
				assert.InDelta(t, math.Abs(slope)*octaves/math.Sqrt(12), d.RMS.Value, tolerance)
				assert.InDelta(t, math.Abs(slope)*octaves/4, d.MeanAbsolute.Value, tolerance)
				assert.InDelta(t, 0, d.Ripple.Value, tolerance)
				middle := 90 + slope*math.Log2(math.Sqrt(20*20000)/1000)
				assert.InDelta(t, -middle, d.Offset.Value, tolerance, "the mean of a straight line is its middle")
				assert.InDelta(t, math.Abs(slope)*octaves/2, math.Abs(d.Max.Level.Value), tolerance)
				assert.InDelta(t, min(1, 2*3/(math.Abs(slope)*octaves)), d.Share.Value, tolerance, "±3 dB unless stated")
				assert.InDelta(t, 1, d.Coverage, tolerance)
				assert.Empty(t, d.Warnings)
			})
		}
	}
}

// Straight lines between samples of a·cos(2πx), h octaves apart, have over whole
// periods the mean square a²/2·(2 + cos 2πh)/3: each piece from p to q has
// (p² + pq + q²)/3, and the mean of pq is a²/2·cos 2πh.
func TestRippleHasTheClosedFormOfACosine(t *testing.T) {
	const a = 2.5
	for _, perOctave := range []int{6, 24, 48} {
		c := curveOn(t, response.LogGrid(62.5, 16000, perOctave), func(x float64) float64 { return a * math.Cos(2*math.Pi*x) })
		d := compare(t, c, target.Flat(), target.Config{Band: eightOctaves})
		want := a * math.Sqrt((2+math.Cos(2*math.Pi/float64(perOctave)))/6)
		assert.InDelta(t, want, d.RMS.Value, 1e-9) // the quadrature is exact
		assert.InDelta(t, want, d.Ripple.Value, 1e-9, "even about the middle of the band: no tilt")
		assert.InDelta(t, 0, d.Tilt.Value, 1e-9)
		assert.InDelta(t, 0, d.Offset.Value, 1e-9)
		if perOctave == 48 {
			assert.InEpsilon(t, a/math.Sqrt2, d.RMS.Value, 0.0015)         // (2π/48)²/12 = 0.14 % by the straight lines
			assert.InEpsilon(t, 2*a/math.Pi, d.MeanAbsolute.Value, 0.0015) // the same
			assert.InDelta(t, a, d.Max.Level.Value, 1e-9)                  // a sample lies on the crest
		}
	}
}

// Tilt and ripple that are orthogonal add up in mean square.
func TestTiltDoesNotReachTheRipple(t *testing.T) {
	const a, slope = 1.5, -0.75
	grid := response.LogGrid(62.5, 16000, 48)
	ripple := func(x float64) float64 { return a * math.Cos(2*math.Pi*x) }
	alone := compare(t, curveOn(t, grid, ripple), target.Flat(), target.Config{Band: eightOctaves})
	tilted := compare(t, curveOn(t, grid, func(x float64) float64 { return ripple(x) + slope*x }), target.Flat(), target.Config{Band: eightOctaves})
	assert.InDelta(t, slope, tilted.Tilt.Value, 1e-9) // exact except for rounding
	assert.InDelta(t, alone.Ripple.Value, tilted.Ripple.Value, 1e-9)
	assert.InDelta(t, math.Hypot(alone.RMS.Value, slope*8/math.Sqrt(12)), tilted.RMS.Value, 1e-9)
}

func TestLevelOfTheRecordingDoesNotMatter(t *testing.T) {
	grid := response.LogGrid(20, 20000, 24)
	shape := func(x float64) float64 { return 3*math.Sin(2*x) - 0.4*x + math.Abs(x) }
	for _, align := range []target.Alignment{{}, target.Alignment{At: 500}, target.Alignment{Over: response.Band{Low: 300, High: 3000}}} {
		o := target.Config{Align: align, Weight: target.PerERB}
		low := compare(t, curveOn(t, grid, shape), target.Flat(), o)
		high := compare(t, curveOn(t, grid, func(x float64) float64 { return shape(x) + 17.3 }), target.Flat(), o)
		assert.InDelta(t, low.Offset.Value-17.3, high.Offset.Value, 1e-9) // rounding
		for name, pair := range map[string][2]response.Figure{
			"rms": {low.RMS, high.RMS}, "mean absolute": {low.MeanAbsolute, high.MeanAbsolute}, "tilt": {low.Tilt, high.Tilt},
			"ripple": {low.Ripple, high.Ripple}, "share": {low.Share, high.Share}, "widest": {low.Max.Level, high.Max.Level},
		} {
			assert.InDelta(t, pair[0].Value, pair[1].Value, 1e-9, "%s, %v", name, align) // rounding
		}
	}
}

// The quadrature against many readings and gonum's weighted statistics.
func TestFiguresAgainstDenseSampling(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	rough := func(float64) float64 { return 4 * random.NormFloat64() }
	c := curveOn(t, response.LogGrid(18, 23000, 12), rough)
	tc := curveOn(t, response.LogGrid(15, 24000, 7), rough)
	to, err := target.FromPair("other", tc)
	require.NoError(t, err)
	to.Tolerance = target.Tolerance{Above: curveOn(t, []float64{10, 900, 30000}, func(x float64) float64 { return 3 + x/8 }), Below: target.PlusMinus(2).Below}
	d := compare(t, c, to, target.Config{Weight: target.PerERB})

	const n = 200_000
	x, y, w := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range x {
		x[i] = math.Log2(20) + (float64(i)+0.5)/n*math.Log2(1000)
		f := math.Exp2(x[i])
		y[i] = c.At(f) - tc.At(f)
		w[i] = f / (24.7 * (4.37*f/1000 + 1)) // Glasberg & Moore 1990
	}
	mean := stat.Mean(y, w)
	var square, absolute, within, sum, residual float64
	intercept, slope := stat.LinearRegression(x, y, w, false)
	for i := range y {
		v := y[i] - mean
		sum += w[i]
		square += w[i] * v * v
		absolute += w[i] * math.Abs(v)
		residual += w[i] * math.Pow(y[i]-intercept-slope*x[i], 2)
		if octaves := x[i] - math.Log2(1000); v <= 3+octaves/8 && v >= -2 {
			within += w[i]
		}
	}
	const tolerance = 1e-5 // the million readings' own error, and a weight taken as straight over 1/24 octave
	assert.InDelta(t, -mean, d.Offset.Value, tolerance)
	assert.InDelta(t, math.Sqrt(square/sum), d.RMS.Value, tolerance)
	assert.InDelta(t, absolute/sum, d.MeanAbsolute.Value, tolerance)
	assert.InDelta(t, slope, d.Tilt.Value, tolerance)
	assert.InDelta(t, math.Sqrt(residual/sum), d.Ripple.Value, tolerance)
	assert.InDelta(t, within/sum, d.Share.Value, 5e-5) // some 50 crossings fall between readings 5e-6 apart
}

func TestAlignment(t *testing.T) {
	line := curveOn(t, []float64{62.5, 16000}, func(x float64) float64 { return 10 + x })
	for name, row := range map[string]struct {
		align target.Alignment
		want  float64
		words string
	}{
		"least squares":           {target.Alignment{}, -10, "aligned for the least weighted square error"},
		"at a frequency":          {target.Alignment{At: 2000}, -11, "aligned at 2 kHz"},
		"over a band":             {target.Alignment{Over: response.Band{Low: 500, High: 1000}}, -9.5, "aligned over 500 Hz–1 kHz"},
		"over it all":             {target.Alignment{Over: response.AllFrequencies}, -10, "aligned over everywhere"},
		"outside the judged band": {target.Alignment{Over: response.Band{Low: 62.5, High: 125}}, -6.5, "aligned over 62.5 Hz–125 Hz"},
		"not":                     {target.Alignment{None: true}, 0, "not aligned"},
	} {
		t.Run(name, func(t *testing.T) {
			d := compare(t, line, target.Flat(), target.Config{Band: response.Band{Low: 250, High: 4000}, Align: row.align})
			assert.InDelta(t, row.want, d.Offset.Value, 1e-9) // the mean of a straight line is its value in the middle
			assert.InDelta(t, 10+row.want, d.Curve.At(1000), 1e-9)
			assert.InDelta(t, math.Hypot(10+row.want, 4/math.Sqrt(12)), d.RMS.Value, 1e-9, "mean and spread add in square")
			assert.Equal(t, `target "flat", `+row.words, d.Curve.Reference)
			assert.Empty(t, d.Warnings)
		})
	}

	d := compare(t, line, target.Flat(), target.Config{Band: eightOctaves, Align: target.Alignment{Over: response.Band{Low: 8000, High: 32000}}})
	assert.InDelta(t, -13.5, d.Offset.Value, 1e-9)
	assert.Equal(t, []string{"aligned over the known part of 8 kHz–32 kHz, 1 of its 2 octaves"}, d.Warnings)

	_, err := target.Compare(line, target.Flat(), target.Config{Band: eightOctaves, Align: target.Alignment{At: 20}})
	assert.EqualError(t, err, `target: "flat": cannot align at 20 Hz: the curve and the target are both known over 62.5 Hz–16 kHz; choose a frequency inside it`)
	for _, b := range []response.Band{{Low: 200, High: 100}, {Low: 20000, High: 30000}} {
		_, err = target.Compare(line, target.Flat(), target.Config{Band: eightOctaves, Align: target.Alignment{Over: b}})
		assert.ErrorContains(t, err, "cannot align over "+b.String())
	}
}

func TestMaxDeviation(t *testing.T) {
	for _, sign := range []float64{1, -1} {
		// A tent 6 dB high over ±1/3 octave about 2 kHz, beside a lower one.
		tent := curveOn(t, []float64{20, 400, 500, 600, 2000 * math.Exp2(-1./3), 2000, 2000 * math.Exp2(1./3), 20000}, func(x float64) float64 {
			return sign * (6*max(0, 1-3*math.Abs(x-1)) - 5*max(0, 1-4*math.Abs(x+1)))
		})
		d := compare(t, tent, target.Flat(), target.Config{Align: target.Alignment{None: true}})
		assert.InDelta(t, sign*6, d.Max.Level.Value, 1e-9)
		assert.InDelta(t, 2000, d.Max.Frequency, 1e-6)
		assert.InDelta(t, 2000*math.Exp2(-1./6), d.Max.Band.Low, 1e-6, "half-way down the tent")
		assert.InDelta(t, 2000*math.Exp2(1./6), d.Max.Band.High, 1e-6)
	}
	line := curveOn(t, []float64{62.5, 16000}, func(x float64) float64 { return x })
	d := compare(t, line, target.Flat(), target.Config{Band: eightOctaves, Align: target.Alignment{At: 62.5}})
	assert.InDelta(t, 8, d.Max.Level.Value, 1e-9)
	assert.InDelta(t, 1000, d.Max.Band.Low, 1e-6, "4 dB")
	assert.InDelta(t, 16000, d.Max.Band.High, 1e-6, "the end of the judged band")
}

func TestTargetsPointsCountAsWellAsTheResponses(t *testing.T) {
	flat := curveOn(t, []float64{20, 20000}, func(float64) float64 { return 0 })
	peak := curveOn(t, []float64{20, 900, 1000, 1100, 20000}, func(x float64) float64 { return 4 * max(0, 1-10*math.Abs(x)) })
	to, err := target.FromPair("peaked", peak)
	require.NoError(t, err)
	d := compare(t, flat, to, target.Config{Align: target.Alignment{None: true}})
	assert.InDelta(t, -4, d.Max.Level.Value, 1e-9)
	assert.Equal(t, []float64{20, 900, 1000, 1100, 20000}, d.Curve.Frequency)
}

func TestUncertaintyOfTheDifference(t *testing.T) {
	c := curveOn(t, []float64{20, 20000}, func(x float64) float64 { return x })
	assert.Nil(t, compare(t, c, target.Flat(), target.Config{}).Curve.Uncertainty, "the deviation is not known where the response is not known")
	c.Uncertainty = []float64{0.3, 0.3}
	assert.InDelta(t, 0.3, compare(t, c, target.Flat(), target.Config{Align: target.Alignment{None: true}}).Curve.UncertaintyAt(1000), 1e-12, "a definition is exact")
	other := c
	other.Uncertainty = []float64{0.4, 0.4}
	to, err := target.FromPair("other", other)
	require.NoError(t, err)
	assert.InDelta(t, 0.5, compare(t, c, to, target.Config{Align: target.Alignment{None: true}}).Curve.UncertaintyAt(1000), 1e-12, "root sum of squares: 3, 4, 5")
	assert.Positive(t, compare(t, c, to, target.Config{}).RMS.Uncertainty)
	other.Uncertainty = nil
	to, err = target.FromPair("silent", other)
	require.NoError(t, err)
	d := compare(t, c, to, target.Config{})
	assert.True(t, math.IsNaN(d.RMS.Uncertainty), "not known is not zero")
	assert.Equal(t, `not known: the target "silent" does not state its uncertainty`, d.Uncertainty)
}

// A pair that is its own target is nowhere off it, and how sure that is has the size of the
// interval, not that of a number divided by nothing.
func TestUncertaintyOfNoDeviation(t *testing.T) {
	pair := fixed("a", 1, 0.1)
	mean, err := response.AverageOf(pair.Seatings)
	require.NoError(t, err)
	itself := target.Target{Name: "itself", Curve: mean.Level}
	itself.Curve.Level = slices.Clone(itself.Curve.Level)
	for i := range itself.Curve.Level {
		itself.Curve.Level[i] += 1e-14 * float64(i%3) // as another order of sums rounds
	}
	itself.Curve.Uncertainty, itself.Curve.Components = make([]float64, len(mean.Level.Level)), nil
	d, err := target.CompareSeatings(pair.Seatings, itself, target.Config{})
	require.NoError(t, err)
	for _, f := range []response.Figure{d.RMS, d.MeanAbsolute} {
		low, high := f.Interval(0.95)
		assert.InDelta(t, 0, f.Value, 1e-6, "rounding, and its root")
		assert.Zero(t, low)
		assert.Greater(t, high, 0.0)
		assert.LessOrEqual(t, f.Uncertainty, high)
	}
}

func BenchmarkCompare(b *testing.B) {
	c := curveOn(b, response.LogGrid(20, 20000, 48), func(x float64) float64 { return 3 * math.Sin(3*x) })
	b.ReportAllocs()
	for b.Loop() {
		if _, err := target.Compare(c, target.Flat(), target.Config{Weight: target.PerERB}); err != nil {
			b.Fatal(err)
		}
	}
}
