package smoothing_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"
	"pgregory.net/rapid"

	"example.com/earnest/smoothing"
)

// Properties that hold for any numbers; more cases with -rapid.checks=N.

// drawGrid returns ascending frequencies, about evenly spaced or not, with 0 Hz or without.
func drawGrid(t *rapid.T) []float64 {
	steps := rapid.SliceOfN(rapid.Float64Range(0.001, 1), 1, 40).Draw(t, "steps in octaves")
	grid := []float64{rapid.Float64Range(5, 500).Draw(t, "lowest")}
	for _, s := range steps {
		grid = append(grid, grid[len(grid)-1]*math.Exp2(s))
	}
	if rapid.Bool().Draw(t, "from 0 Hz") {
		grid = append([]float64{0}, grid...)
	}
	return grid
}

// drawValues returns a value for each frequency, some of them not known.
func drawValues(t *rapid.T, n int, low, high float64, unknown bool) []float64 {
	value := rapid.SliceOfN(rapid.Float64Range(low, high), n, n).Draw(t, "values")
	if unknown {
		for _, k := range rapid.SliceOfN(rapid.IntRange(0, n-1), 0, 5).Draw(t, "not known") {
			value[k] = math.NaN()
		}
	}
	return value
}

// drawPlan returns a plan of either kind of width, at the grid's own frequencies or others.
func drawPlan(t *rapid.T, grid []float64) (*smoothing.Plan, []float64) {
	centre := grid
	if rapid.Bool().Draw(t, "elsewhere") {
		centre = rapid.SliceOfN(rapid.Float64Range(1, 50000), 1, 10).Draw(t, "centres")
	}
	width := rapid.Float64Range(0.3, 48).Draw(t, "width")
	plan, err := smoothing.NewOctave(grid, centre, width)
	if rapid.Bool().Draw(t, "auditory") {
		plan, err = smoothing.NewERB(grid, centre, 1/width)
	}
	require.NoError(t, err)
	return plan, centre
}

func TestPropertyMeanLiesWithinItsInput(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		grid := drawGrid(t)
		plan, centre := drawPlan(t, grid)
		power := drawValues(t, len(grid), 0, 1e6, true)
		low, high := math.Inf(1), math.Inf(-1)
		for i, v := range power {
			if !math.IsNaN(v) && grid[i] > 0 {
				low, high = min(low, v), max(high, v)
			}
		}
		for i, v := range plan.Mean(nil, power) {
			at, onGrid := slices.BinarySearch(grid, centre[i])
			switch {
			case onGrid && (math.IsNaN(power[at]) || grid[at] == 0), centre[i] < grid[0] || centre[i] > grid[len(grid)-1]:
				require.True(t, math.IsNaN(v), "an unknown value at %v Hz stays unknown", centre[i])
			case !math.IsNaN(v):
				require.True(t, low <= v && v <= high, "%v is outside %v–%v", v, low, high)
			case !slices.ContainsFunc(power, math.IsNaN) && grid[0] > 0:
				t.Fatalf("%v Hz is not known, though all is", centre[i])
			}
		}
	})
}

func TestPropertyConstantIsKept(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		grid := drawGrid(t)
		plan, _ := drawPlan(t, grid)
		constant := rapid.Float64Range(-1e3, 1e3).Draw(t, "constant")
		value := make([]float64, len(grid))
		floats.AddConst(constant, value)
		for _, v := range plan.Mean(nil, value) {
			require.True(t, v == constant || math.IsNaN(v), "%v for %v", v, constant)
		}
	})
}

func TestPropertyMeanIsLinearInPower(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		grid := drawGrid(t)
		plan, _ := drawPlan(t, grid)
		a, b := drawValues(t, len(grid), 0, 1, true), drawValues(t, len(grid), 0, 1, false)
		p, q := rapid.Float64Range(0, 10).Draw(t, "of a"), rapid.Float64Range(0, 10).Draw(t, "of b")
		sum, h := make([]float64, len(grid)), make([]complex128, len(grid))
		for i := range sum {
			sum[i] = p*a[i] + q*b[i]
			h[i] = complex(a[i], b[i])
		}
		// b is not known where a is not, so that both bands shrink alike.
		for i := range b {
			b[i] += 0 * a[i]
		}
		of, ofA, ofB, ofH := plan.Mean(nil, sum), plan.Mean(nil, a), plan.Mean(nil, b), plan.Complex(nil, h)
		for i, v := range of {
			require.Equal(t, math.IsNaN(ofA[i]), math.IsNaN(v))
			if math.IsNaN(v) {
				continue
			}
			require.InDelta(t, p*ofA[i]+q*ofB[i], v, 1e-12*(p+q), "rounding")
			require.InDelta(t, ofA[i], real(ofH[i]), 1e-14, "each part by itself")
			require.InDelta(t, ofB[i], imag(ofH[i]), 1e-14, "each part by itself")
		}
	})
}

// The geometric mean does not exceed the arithmetic one. A straight line in dB between points lies
// below a straight line in power, so linear interpolation only strengthens the inequality.
func TestPropertyLevelDoesNotExceedPower(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		grid := drawGrid(t)
		plan, _ := drawPlan(t, grid)
		level := drawValues(t, len(grid), -100, 100, true)
		power := make([]float64, len(level))
		for i, v := range level {
			power[i] = math.Pow(10, v/10)
		}
		of := plan.Mean(nil, power)
		for i, v := range plan.Mean(nil, level) {
			require.Equal(t, math.IsNaN(of[i]), math.IsNaN(v))
			require.False(t, v > 10*math.Log10(of[i])+1e-9, "rounding of 100 dB")
		}
	})
}

func TestPropertyGainIsKept(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		grid := drawGrid(t)
		plan, _ := drawPlan(t, grid)
		level := drawValues(t, len(grid), -60, 60, true)
		gain := rapid.Float64Range(-100, 100).Draw(t, "gain")
		raised := slices.Clone(level)
		floats.AddConst(gain, raised)
		of := plan.Mean(nil, raised)
		for i, v := range plan.Mean(nil, level) {
			require.Equal(t, math.IsNaN(v), math.IsNaN(of[i]))
			require.False(t, math.Abs(v+gain-of[i]) > 1e-10, "rounding of 160 dB")
		}
	})
}

func TestPropertyBandSumsEqualTotals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		density := rapid.SliceOfN(rapid.Float64Range(0, 1000), 4, 200).Draw(t, "density")
		spacing := rapid.Float64Range(0.1, 200).Draw(t, "spacing")
		top := (float64(len(density)) - 0.5) * spacing
		cuts := rapid.SliceOfNDistinct(rapid.IntRange(0, 1000), 2, 12, rapid.ID).Draw(t, "edges in thousandths")
		slices.Sort(cuts)
		var bands []smoothing.Band
		for i := 1; i < len(cuts); i++ {
			bands = append(bands, smoothing.Band{Low: float64(cuts[i-1]) / 1000 * top, High: float64(cuts[i]) / 1000 * top})
		}
		whole := smoothing.Band{Low: bands[0].Low, High: bands[len(bands)-1].High}
		total := smoothing.BandPower(nil, density, spacing, []smoothing.Band{whole})[0]
		sum := floats.Sum(smoothing.BandPower(nil, density, spacing, bands))
		require.InDelta(t, total, sum, 1e-12*(1+floats.Sum(density)*spacing), "rounding")
		k := rapid.IntRange(0, len(density)-1).Draw(t, "not known")
		density[k] = math.NaN()
		for i, v := range smoothing.BandPower(nil, density, spacing, bands) {
			const hair = 1e-9 // of a bin, for an edge on the bin's own
			b := bands[i]
			if b.Low/spacing < float64(k)+0.5-hair && b.High/spacing > max(0, float64(k)-0.5)+hair {
				require.True(t, math.IsNaN(v), "a bin of %v is not known", b)
			}
		}
	})
}

func TestPropertyStandardBandsTile(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		fraction := rapid.IntRange(1, 48).Draw(t, "fraction")
		low := rapid.Float64Range(1, 5000).Draw(t, "low")
		high := low * rapid.Float64Range(1.5, 1000).Draw(t, "ratio")
		bands, err := smoothing.Bands(fraction, low, high)
		require.NoError(t, err)
		for i, b := range bands {
			require.InEpsilon(t, b.Centre, math.Sqrt(b.Low*b.High), 1e-12, "rounding")
			require.True(t, b.Low < high && b.High > low, "the bands overlap the requested range")
			if i > 0 {
				require.InEpsilon(t, bands[i-1].High, b.Low, 1e-12, "they meet; rounding")
			}
		}
	})
}

func TestPropertyAuditoryBandsWidenWithFrequency(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.Float64Range(0, 1e5).Draw(t, "f")
		g := f + rapid.Float64Range(1e-3, 1e4).Draw(t, "more")
		require.Greater(t, smoothing.ERBWidth(g), smoothing.ERBWidth(f))
		bad := -rapid.Float64Range(1e-300, 1e9).Draw(t, "below zero")
		for _, v := range []float64{smoothing.ERBWidth(bad), smoothing.AWeighting(bad), smoothing.ERBWidth(math.NaN()), smoothing.AWeighting(math.NaN())} {
			require.True(t, math.IsNaN(v))
		}
	})
}
