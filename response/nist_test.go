package response_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/known"
	"example.com/earnest/response"
)

// single returns the average of curves of one point each: a mean and a spread of numbers.
func single(t *testing.T, values []float64) *response.Average {
	var curves []response.Curve
	for _, v := range values {
		curves = append(curves, response.Curve{Frequency: []float64{1000}, Level: []float64{v}, Valid: response.AllFrequencies})
	}
	average, err := response.AverageOf(curves)
	require.NoError(t, err)
	return average
}

type certified struct {
	Variance []struct {
		Name               string
		Cells              [][]float64
		Between, Deviation float64
		Freedom            float64
	}
	Univariate []struct {
		Name            string
		Values          []float64
		Mean, Deviation float64
	}
}

// NIST/ITL StRD, univariate: up to eight leading digits that never change.
func TestMeansAndSpreadsOfNumAcc(t *testing.T) {
	var reference certified
	known.Values(t, "nist.json", &reference)
	for _, set := range reference.Univariate {
		a := single(t, set.Values)
		ulp := math.Nextafter(set.Mean, math.Inf(1)) - set.Mean
		assert.InDelta(t, set.Mean, a.Level.Level[0], 32*ulp, "%s; a sum rounds half a bit at each of 1001 values, which come to √1001 of it", set.Name)
		assert.InDelta(t, set.Deviation, a.Spread[0], 4*ulp, "%s; the values themselves are off by half a bit", set.Name)
		assert.InDelta(t, set.Deviation/math.Sqrt(float64(len(set.Values))), a.Level.Uncertainty[0], ulp, "%s; the standard error of the mean", set.Name)
	}
}

// NIST/ITL StRD, analysis of variance: the certified residual deviation is the pooled scatter of
// the cells, and the certified sum of squares between them is that of their means.
func TestMeansAndSpreadsOfNISTAnalysisOfVariance(t *testing.T) {
	var reference certified
	known.Values(t, "nist.json", &reference)
	for _, set := range reference.Variance {
		var within, freedom float64
		var means []float64
		for _, cell := range set.Cells {
			a := single(t, cell)
			means = append(means, a.Level.Level[0])
			within += float64(len(cell)-1) * a.Spread[0] * a.Spread[0]
			freedom += float64(len(cell) - 1)
		}
		assert.Equal(t, set.Freedom, freedom, set.Name)
		ulp := math.Nextafter(means[0], math.Inf(1)) - means[0]
		assert.InDelta(t, set.Deviation, math.Sqrt(within/freedom), ulp+1e-12*set.Deviation, "%s; the values themselves are off by half a bit", set.Name)
		n, spread := float64(len(set.Cells[0])), single(t, means).Spread[0]
		between := n * float64(len(means)-1) * spread * spread
		assert.InEpsilon(t, set.Between, between, 1e-9+4*ulp/spread, "%s; the means are off by half a bit", set.Name)
	}
}
