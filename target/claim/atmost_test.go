package claim_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/target/claim"
)

// reads returns a reading of a value with a standard uncertainty.
func reads(value, u float64, unit string) distortion.Reading {
	return distortion.Reading{Figure: response.Figure{Value: value, Uncertainty: u, Unit: unit}, AsRead: value, Floor: value / 100, Bound: value + 1.645*u}
}

// Claims of modulation, crosstalk, polarity and of figures not measured by sound. A guard band of
// 1.645 standard uncertainties (JCGM 106:2012, 95 % one-sided) decides by hand.
func TestClaimsOfUpperLimits(t *testing.T) {
	below := distortion.Reading{Figure: response.NotKnown("%"), AsRead: 0.02, Floor: 0.015, Bound: 0.04, Below: true}
	e := claim.Evidence{
		Readings: map[claim.Quantity][]claim.ReadingAt{
			claim.Modulation: {{Frequency: math.NaN(), Reading: reads(0.5, 0.01, "%")}, {Frequency: math.NaN(), Reading: reads(0.8, 0.01, "%")}},
			claim.Difference: {{Frequency: math.NaN(), Reading: below}},
			claim.Crosstalk:  {{Frequency: 1000, Reading: reads(-62, 0.5, "dB")}, {Frequency: 100, Reading: reads(-40, 0.5, "dB")}},
		},
		Polarity: []response.Figure{{Value: 0.98, Unit: "1"}, {Value: 0.97, Unit: "1"}},
	}
	upsideDown := e
	upsideDown.Polarity = []response.Figure{{Value: 0.98, Unit: "1"}, {Value: -0.97, Unit: "1"}}
	unknown := e
	without := distortion.Reading{Figure: response.NotKnown("%"), AsRead: 0.02, Floor: math.NaN(), Bound: math.NaN()}
	unknown.Readings = map[claim.Quantity][]claim.ReadingAt{claim.Difference: {{Frequency: math.NaN(), Reading: below}, {Frequency: math.NaN(), Reading: without}}}
	// The second order of a side is 0.1 %, so its sum with a part that is not known is at least
	// that.
	inPart := e
	inPart.Readings = map[claim.Quantity][]claim.ReadingAt{
		claim.Difference: {{Frequency: math.NaN(), Reading: without}, {Frequency: math.NaN(), Reading: reads(0.1, 0.005, "%"), Part: "the second order"}},
		claim.Modulation: {{Frequency: math.NaN(), Reading: without}, {Frequency: math.NaN(), Reading: reads(0.8, 0.01, "%")}}, // of the other side
	}
	oneSide := e
	oneSide.Polarity = e.Polarity[:1]
	grams := func(v, u float64) response.Figure { return response.Figure{Value: v, Uncertainty: u, Unit: "g"} }
	for _, test := range []struct {
		claim   claim.Claim
		with    claim.Evidence
		outcome claim.Outcome
		cause   claim.Cause
	}{
		{claim.AtMost{What: claim.Modulation, Limit: 1}, e, claim.Met, claim.Measured},
		{claim.AtMost{What: claim.Modulation, Limit: 0.6}, e, claim.NotMet, claim.Measured}, // the worse side
		{claim.AtMost{What: claim.Modulation, Limit: 0.81}, e, claim.CannotTell, claim.TooNearTheLimit},
		{claim.AtMost{What: claim.Modulation, Limit: 1}, claim.Evidence{}, claim.CannotTell, claim.NotMeasured},
		{claim.AtMost{What: claim.Difference, Limit: 0.05}, e, claim.Met, claim.Measured},
		{claim.AtMost{What: claim.Difference, Limit: 0.03}, e, claim.CannotTell, claim.BelowNoise},
		{claim.AtMost{What: claim.Difference, Limit: 0.05}, unknown, claim.CannotTell, claim.ResponseEnds}, // one side has no floor
		{claim.AtMost{What: claim.Difference, Limit: 0.03}, unknown, claim.CannotTell, claim.ResponseEnds},
		{claim.AtMost{What: claim.Difference, Limit: 0.09}, inPart, claim.NotMet, claim.Measured},
		{claim.AtMost{What: claim.Difference, Limit: 0.095}, inPart, claim.CannotTell, claim.ResponseEnds},
		{claim.AtMost{What: claim.Difference, Limit: 0.2}, inPart, claim.CannotTell, claim.ResponseEnds},
		{claim.AtMost{What: claim.Modulation, Limit: 0.6}, inPart, claim.NotMet, claim.Measured},
		{claim.AtMost{What: claim.Modulation, Limit: 1}, inPart, claim.CannotTell, claim.ResponseEnds},
		{claim.AtMost{What: claim.Crosstalk, Limit: -60, At: 1000}, e, claim.Met, claim.Measured},
		{claim.AtMost{What: claim.Crosstalk, Limit: -70, At: 1000}, e, claim.NotMet, claim.Measured},
		{claim.AtMost{What: claim.Crosstalk, Limit: -60, At: 5000}, e, claim.CannotTell, claim.NotAtThatFrequency},
		{claim.AtMost{What: claim.Crosstalk, Limit: -60}, e, claim.CannotTell, claim.NoFrequencyStated},
		{claim.AtMost{What: claim.Crosstalk, Limit: -30}, e, claim.Met, claim.Measured}, // everywhere
		{claim.PositivePolarity{}, e, claim.Met, claim.Measured},
		{claim.PositivePolarity{}, upsideDown, claim.NotMet, claim.Measured},
		{claim.PositivePolarity{}, oneSide, claim.CannotTell, claim.NotMeasured},
		{claim.Stated{Name: "mass", Unit: "g", Value: 250, Tolerance: 5, Measured: grams(252, 0.5)}, e, claim.Met, claim.Measured},
		{claim.Stated{Name: "mass", Unit: "g", Value: 250, Tolerance: 5, Measured: grams(257, 0.5)}, e, claim.NotMet, claim.Measured},
		{claim.Stated{Name: "mass", Unit: "g", Value: 250, Tolerance: 5, Measured: grams(254.9, 0.5)}, e, claim.CannotTell, claim.TooNearTheLimit},
		{claim.Stated{Name: "mass", Unit: "g", Value: 250, Measured: grams(250, 0.5)}, e, claim.CannotTell, claim.NoLimitStated},
		{claim.Stated{Name: "mass", Unit: "g", Value: 250, Tolerance: 5}, e, claim.CannotTell, claim.NotMeasured},
	} {
		v, err := claim.Judge(test.claim, test.with)
		require.NoError(t, err)
		assert.Equal(t, test.outcome, v.Outcome, "%v: %v", test.claim, v.Reason)
		assert.Equal(t, test.cause, v.Cause, "%v: %v", test.claim, v.Reason)
		assert.NotContains(t, v.Reason, "%!")
	}
	for _, bad := range []claim.Claim{
		claim.AtMost{What: "warmth", Limit: 1}, claim.AtMost{What: claim.Modulation}, claim.AtMost{What: claim.Crosstalk, Limit: 60},
		claim.AtMost{What: claim.Modulation, Limit: math.NaN()}, claim.Stated{Name: "mass", Value: 250}, claim.Stated{Name: "mass", Unit: "g"},
		claim.Stated{Name: "mass", Unit: "g", Value: 250, Tolerance: math.NaN()},
		claim.Stated{Name: "mass", Unit: "kg", Value: 0.25, Measured: grams(250, 1)},
	} {
		_, err := claim.Judge(bad, e)
		assert.Error(t, err, "%v", bad)
	}
}
