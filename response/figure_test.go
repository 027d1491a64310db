package response

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestFigureAsWords(t *testing.T) {
	for want, f := range map[string]Figure{
		"94.13 dB SPL with u = 0.25 dB SPL": {Value: 94.1276, Uncertainty: 0.2468, Unit: "dB SPL"},
		"313 Ω with u = 14 Ω":               {Value: 312.7, Uncertainty: 14.2, Unit: "Ω"},
		"1.375 dB":                          {Value: 1.3749, Uncertainty: math.NaN(), Unit: "dB"},
		"0.5":                               {Value: 0.5, Unit: "1"},
		"not known":                         {Value: math.NaN(), Unit: "dB"},
		"2.543 dB":                          {Value: 2.5432, Uncertainty: 1e-17, Unit: "dB"}, // what rounding leaves
	} {
		assert.Equal(t, want, f.String())
	}
	assert.Equal(t, "not known", NotKnown("dB").String())
	f := Figure{Value: 94.1276, Uncertainty: 0.2468, Unit: "dB SPL"}
	assert.Equal(t, "94.13 dB SPL (95 % confidence: 93.64 to 94.61 dB SPL)", f.WithInterval(0.95), "1.96 times the uncertainty on both sides")
	for _, u := range []float64{math.NaN(), 1e-14} {
		f.Uncertainty = u
		assert.Equal(t, "94.13 dB SPL", f.WithInterval(0.95))
	}
}

func TestFigureWithoutUnitIsNotKnown(t *testing.T) {
	for _, f := range []Figure{{}, {Value: 3, Uncertainty: 0.1}, NotKnown("dB")} {
		assert.False(t, f.Known())
		assert.Equal(t, "not known", f.String())
		assert.Equal(t, "not known", f.WithInterval(0.95))
		low, high := f.WithBounds(0, 1).Interval(0.95)
		assert.True(t, math.IsNaN(low) && math.IsNaN(high), "%v to %v", low, high)
	}
}

// Quantiles of Student's distribution for 0.975: 4.303 at 2 degrees of freedom
// and 2.571 at 5 (JCGM 100:2008, table G.2), 1.960 of the normal one.
func TestIntervalByStudent(t *testing.T) {
	for freedom, factor := range map[float64]float64{2: 4.303, 5: 2.571, 0: 1.960} {
		f := Figure{Value: 10, Uncertainty: 1, DegreesOfFreedom: freedom, Unit: "dB"}
		low, high := f.Interval(0.95)
		assert.InDelta(t, 10-factor, low, 0.0005, "the table has three decimals")
		assert.InDelta(t, 10+factor, high, 0.0005, "the table has three decimals")
	}
	rms := Figure{Value: 1, Uncertainty: 1, Unit: "dB"}.WithBounds(0, math.Inf(1))
	low, _ := rms.Interval(0.95)
	assert.Equal(t, 0.0, low, "an rms is not below zero")
	assert.True(t, rms.Bounded())
	assert.False(t, Figure{Value: 1, Uncertainty: 1, Unit: "dB"}.Bounded())
	for _, p := range []float64{-0.5, 0, 1, math.NaN()} {
		assert.Panics(t, func() { Figure{}.Interval(p) }, "%v", p)
		assert.Panics(t, func() { Figure{}.Coverage(p) }, "%v", p)
	}
}
