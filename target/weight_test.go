package target_test

import (
	"math"
	"testing"

	"example.com/earnest/response"
	"example.com/earnest/target"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The mean absolute value of a step of 1 dB at a frequency is the share of the weight above it.
func TestWeights(t *testing.T) {
	erbRate := func(f float64) float64 { return 21.4 * math.Log10(4.37*f/1000+1) } // Glasberg & Moore 1990
	require.InDelta(t, 15.62, erbRate(1000), 0.005)                                // to the digits published
	for name, row := range map[string]struct {
		weight func(float64) float64
		total  func(f float64) float64 // its integral
	}{
		"per octave":              {nil, math.Log2},
		"per ERB":                 {target.PerERB, erbRate},
		"per hertz":               {func(f float64) float64 { return f }, func(f float64) float64 { return f }},
		"nothing below 250 Hz":    {func(f float64) float64 { return min(1, math.Floor(f/250)) }, func(f float64) float64 { return math.Log2(max(f, 250)) }},
		"only ratios of a weight": {func(float64) float64 { return 1e-9 }, math.Log2},
	} {
		t.Run(name, func(t *testing.T) {
			for _, step := range []float64{100, 500, 1000, 8000} {
				c, err := response.NewCurve([]float64{10, step, step * (1 + 1e-12), 24000}, []float64{0, 0, 1, 1})
				require.NoError(t, err)
				d := compare(t, c, target.Flat(), target.Config{Weight: row.weight, Align: target.Alignment{None: true}, Band: response.Band{Low: 31.25, High: 16000}})
				want := (row.total(16000) - row.total(max(step, 31.25))) / (row.total(16000) - row.total(31.25))
				assert.InDelta(t, want, d.MeanAbsolute.Value, 1e-9) // two nodes per 1/24 octave take 2^x to (ln 2/24)⁴/4320 = 2e-10 of itself
				assert.InDelta(t, 1-want, compare(t, c, target.Flat(), target.Config{Weight: row.weight, Align: target.Alignment{None: true},
					Band: response.Band{Low: 31.25, High: 16000}, Tolerance: target.PlusMinus(0.5)}).Share.Value, 1e-9)
			}
		})
	}
}

func TestNothingIsJudgedWhereTheWeightIsZero(t *testing.T) {
	c := curveOn(t, response.LogGrid(20, 20000, 12), func(x float64) float64 { return x * x })
	d := compare(t, c, target.Flat(), target.Config{Align: target.Alignment{At: 1000}, Weight: func(f float64) float64 {
		if f < 500 || f > 2000 {
			return 0
		}
		return 1
	}})
	assert.InDelta(t, 1, d.Max.Level.Value, 1e-9, "one octave from 1 kHz, and not at the ends")
}

func TestImpossibleWeights(t *testing.T) {
	c := curveOn(t, []float64{20, 20000}, func(x float64) float64 { return x })
	for want, w := range map[string]func(float64) float64{
		"the weight at 20.1 Hz is -1; weights are finite and zero or more": func(float64) float64 { return -1 },
		"is NaN":  func(float64) float64 { return math.NaN() },
		"is +Inf": func(float64) float64 { return math.Inf(1) },
		"the weights add up to 0 over the known part of 20 Hz–20 kHz; give some of": func(float64) float64 { return 0 },
	} {
		_, err := target.Compare(c, target.Flat(), target.Config{Weight: w})
		assert.ErrorContains(t, err, want)
	}
}
