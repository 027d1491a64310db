package response_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
)

// JCGM 100:2008 (GUM), H.2: resistance, reactance and impedance from five simultaneous readings of
// voltage (V), current (mA) and phase (rad). Readings and results from memory; table H.4 prints R
// 127.732 Ω with u = 0.071, X 219.847 with 0.295 and Z 254.260 with 0.236, and r(R, X) = −0.588,
// r(R, Z) = −0.485, r(X, Z) = 0.993.
func TestGUMSimultaneousResistanceAndReactance(t *testing.T) {
	var readings []response.Curve
	for _, r := range [][]float64{{5.007, 19.663, 1.0456}, {4.994, 19.639, 1.0438}, {5.005, 19.640, 1.0468}, {4.990, 19.685, 1.0428}, {4.999, 19.678, 1.0433}} {
		readings = append(readings, response.Curve{Frequency: []float64{1, 2, 3}, Level: r, Valid: response.AllFrequencies})
	}
	mean, err := response.AverageOf(readings)
	require.NoError(t, err)
	input := func(f float64) (float64, response.Budget) { v := mean.Level.Figure(f); return v.Value, v.Budget }
	volts, ofVolts := input(1)
	milliamperes, ofCurrent := input(2)
	phase, ofPhase := input(3)
	z := 1000 * volts / milliamperes
	sum := func(byVolts, byCurrent, byPhase float64) response.Budget {
		return response.Budget{}.Plus(byVolts, ofVolts).Plus(byCurrent, ofCurrent).Plus(byPhase, ofPhase)
	}
	sin, cos := math.Sincos(phase)
	budgets := []response.Budget{
		sum(z/volts*cos, -z/milliamperes*cos, -z*sin),
		sum(z/volts*sin, -z/milliamperes*sin, z*cos),
		sum(z/volts, -z/milliamperes, 0),
	}
	for k, want := range []struct{ value, uncertainty float64 }{{127.732, 0.071}, {219.847, 0.295}, {254.260, 0.236}} {
		f := budgets[k].Figure([]float64{z * cos, z * sin, z}[k], "Ω")
		assert.InDelta(t, want.value, f.Value, 0.0005, "Ω; the last digit printed")
		assert.InDelta(t, want.uncertainty, f.Uncertainty, 0.001, "Ω; the GUM works on from figures that it has rounded")
		assert.InDelta(t, 4, f.DegreesOfFreedom, 1e-9, "five readings")
	}
	correlation := func(a, b response.Budget) float64 {
		u := func(x response.Budget) float64 { return x.Figure(0, "Ω").Uncertainty }
		return (math.Pow(u(a.Plus(1, b)), 2) - math.Pow(u(a), 2) - math.Pow(u(b), 2)) / (2 * u(a) * u(b))
	}
	assert.InDelta(t, -0.588, correlation(budgets[0], budgets[1]), 0.0005, "the last digit printed")
	assert.InDelta(t, -0.485, correlation(budgets[0], budgets[2]), 0.0005)
	assert.InDelta(t, 0.993, correlation(budgets[1], budgets[2]), 0.0005)
}

// budgetOf returns independent causes, by standard uncertainty and degrees of freedom (0 for
// infinitely many).
func budgetOf(parts ...[2]float64) response.Budget {
	b := response.Budget{}
	for _, p := range parts {
		b = append(b, response.Component{Cause: response.Cause{DegreesOfFreedom: p[1]}, Effects: []float64{p[0]}})
	}
	return b
}

// JCGM 100:2008, H.1: end-gauge calibration. Components in nm with their degrees of freedom, u = 32
// nm and 16 effective degrees of freedom (truncated), U99 = 93 nm; from memory.
func TestGUMEndGauge(t *testing.T) {
	f := budgetOf([2]float64{25, 18}, [2]float64{9.7, 25.6}, [2]float64{2.9, 50}, [2]float64{16.6, 2}).Figure(838, "nm")
	assert.InDelta(t, 32, f.Uncertainty, 0.5, "nm, as printed")
	assert.InDelta(t, 16.7, f.DegreesOfFreedom, 0.1, "16.7 before it is truncated")
	low, high := f.Interval(0.99)
	assert.InDelta(t, 93, (high-low)/2, 1.5, "nm; the GUM rounds u up and the degrees of freedom down")
}

// drawn returns the 95 % interval of a quantity by drawing its inputs (JCGM 101:2008, 7).
func drawn(of func(r *rand.Rand) float64) (u, low, high float64) {
	const n = 400000
	r := rand.New(rand.NewPCG(101, 1))
	values := make([]float64, n)
	var sum, squares float64
	for i := range values {
		values[i] = of(r)
		sum += values[i] / n
	}
	for _, v := range values {
		squares += (v - sum) * (v - sum) / n
	}
	slices.Sort(values)
	return math.Sqrt(squares), values[n/40], values[n-n/40]
}

// JCGM 101:2008, 9.2: four inputs added up, and 9.3: calibration of a mass standard, in which the
// density of air occurs in products only, so that the law of propagation ignores it. Tables 2 to 6,
// from memory: the library gives the result of the law of propagation, and the two intervals differ
// by as much as there.
func TestJCGM101(t *testing.T) {
	race.Skip(t)
	normal := func(r *rand.Rand) float64 { return r.NormFloat64() }
	rectangular := func(r *rand.Rand) float64 { return math.Sqrt(3) * (2*r.Float64() - 1) }
	added := func(one func(*rand.Rand) float64, last float64) func(*rand.Rand) float64 {
		return func(r *rand.Rand) float64 { return one(r) + one(r) + one(r) + last*one(r) }
	}
	one := [2]float64{1, 0}
	air := func(r *rand.Rand) float64 {
		between := func(low, high float64) float64 { return low + (high-low)*r.Float64() }
		reference, difference := 100000+0.050*r.NormFloat64(), 1.234+0.020*r.NormFloat64()
		return (reference+difference)*(1+(between(1.10, 1.30)-1.2)*(1/between(7000, 9000)-1/between(7950, 8050))) - 100000
	}
	for name, row := range map[string]struct {
		budget         response.Budget
		value          float64
		law            float64 // half width by the law of propagation
		of             func(*rand.Rand) float64
		u, half, close float64 // by drawing
	}{
		"9.2.2 normal":             {budgetOf(one, one, one, one), 0, 3.92, added(normal, 1), 2, 3.92, 0.03},
		"9.2.3 rectangular":        {budgetOf(one, one, one, one), 0, 3.92, added(rectangular, 1), 2, 3.88, 0.03},
		"9.2.4 one dominates":      {budgetOf(one, one, one, [2]float64{10, 0}), 0, 19.9, added(rectangular, 10), 10.1, 17.0, 0.06},
		"9.3 mass standard, in mg": {budgetOf([2]float64{0.050, 0}, [2]float64{0.020, 0}), 1.234, 0.1055, air, 0.0754, 0.1496, 0.0015},
	} {
		low, high := row.budget.Figure(row.value, "mg").Interval(0.95)
		assert.InDelta(t, row.law, (high-low)/2, 0.01*row.law, "%s; the digits printed", name)
		assert.InDelta(t, row.value, (high+low)/2, 1e-9, name)
		u, low, high := drawn(row.of)
		assert.InDelta(t, row.u, u, 0.01*row.u, "%s; 400 000 draws and the digits printed", name)
		assert.InDelta(t, row.half, (high-low)/2, row.close, "%s; the quantile's own deviation, three times", name)
	}
}
