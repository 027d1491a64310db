package statistic_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"example.com/earnest/internal/statistic"
	"example.com/earnest/internal/testing/known"
)

// The quantiles by scipy.stats: testdata/reference/statistics.py.
func TestStudentQuantileEqualsSciPy(t *testing.T) {
	var reference struct {
		Quantiles []struct{ Probability, Freedom, Factor float64 }
	}
	known.Values(t, "statistics.json", &reference)
	require.Greater(t, len(reference.Quantiles), 50)
	for _, c := range reference.Quantiles {
		if c.Freedom > 0 {
			assert.InEpsilon(t, c.Factor, statistic.StudentQuantile(c.Probability, c.Freedom), 1e-8, "%+v: scipy 1.10 errs by 2e-9", c)
			assert.InEpsilon(t, -c.Factor, statistic.StudentQuantile(1-c.Probability, c.Freedom), 1e-8, "%+v: scipy 1.10 errs by 2e-9", c)
		}
	}
}

// gonum's bisection over everything that a budget may ask for; beyond, the first term of the
// expansion about the normal quantile z, (z³ + z)/4ν (Abramowitz and Stegun, 26.7.5, from memory).
func TestStudentQuantileEqualsBisection(t *testing.T) {
	for freedom := 0.05; freedom < 1e12; freedom *= 1.37 {
		for _, p := range []float64{0.5, 0.51, 0.7, 0.9, 0.975, 0.999, 1 - 1e-6} {
			want, tolerance := distuv.StudentsT{Sigma: 1, Nu: freedom}.Quantile(p), 1e-10
			if freedom > 1e4 {
				z := distuv.UnitNormal.Quantile(p)
				want, tolerance = z+(z*z*z+z)/(4*freedom), 2*math.Pow(z, 5)/(freedom*freedom)+1e-11 // the second term
			}
			assert.InDelta(t, want, statistic.StudentQuantile(p, freedom), tolerance*max(1, want), "%v of %v", p, freedom)
		}
	}
	assert.True(t, math.IsNaN(statistic.StudentQuantile(0.9, math.NaN())))
}

func BenchmarkStudentQuantile(b *testing.B) {
	freedom := 2.0
	for b.Loop() {
		if freedom *= 1.01; freedom > 1000 {
			freedom = 2
		}
		statistic.StudentQuantile(0.975, freedom)
	}
}

func BenchmarkStudentQuantileByBisection(b *testing.B) {
	freedom := 2.0
	for b.Loop() {
		if freedom *= 1.01; freedom > 1000 {
			freedom = 2
		}
		distuv.StudentsT{Sigma: 1, Nu: freedom}.Quantile(0.975)
	}
}
