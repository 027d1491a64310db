package claim_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/target/claim"
)

// A sensitivity that is missed by what a usual mistake makes says which: the other unit, which at
// 32 Ω is 14.95 dB away (10 log10(1000/32)), or the two levels of a calibrator, 94 and 114 dB.
func TestSensitivityMissedByAMistake(t *testing.T) {
	figure := func(v float64, unit string) response.Figure {
		return response.Figure{Value: v, Uncertainty: 0.3, Unit: unit}
	}
	for _, c := range []struct {
		claimed, measured float64
		unit, measuredIn  string
		says              string
	}{
		{104, 89.05, claim.PerMilliwatt, claim.PerMilliwatt, "the figure would hold in dB SPL/V"},
		{89, 104, claim.PerVolt, claim.PerVolt, "the figure would hold in dB SPL/mW"},
		{104, 84, claim.PerVolt, claim.PerVolt, "94 and 114 dB"},
		{104, 94, claim.PerVolt, claim.PerVolt, ""},
		{104, 104, claim.PerVolt, claim.PerVolt, ""},
	} {
		t.Run(fmt.Sprintf("%v of %v %s", c.measured, c.claimed, c.unit), func(t *testing.T) {
			v, err := claim.Judge(claim.Sensitivity{Value: c.claimed, Unit: c.unit, At: 1000}, claim.Evidence{
				Sensitivity: []claim.FigureAt{{Frequency: 1000, Figure: figure(c.measured, c.measuredIn)}},
				Impedance:   []claim.FigureAt{{Frequency: 1000, Figure: figure(32, "Ω")}},
			})
			require.NoError(t, err)
			if c.says == "" {
				assert.Empty(t, v.Warnings)
				return
			}
			assert.Equal(t, claim.NotMet, v.Outcome)
			require.Len(t, v.Warnings, 1)
			assert.Contains(t, v.Warnings[0], c.says)
		})
	}
}

// Of two measurements near the frequency of a claim, the nearer one decides.
func TestSensitivityAtTheNearestFrequency(t *testing.T) {
	at := func(f, v float64) claim.FigureAt {
		return claim.FigureAt{Frequency: f, Figure: response.Figure{Value: v, Uncertainty: 0.1, Unit: claim.PerVolt}}
	}
	v, err := claim.Judge(claim.Sensitivity{Value: 100, Unit: claim.PerVolt, At: 1040, Tolerance: 1}, claim.Evidence{
		Sensitivity: []claim.FigureAt{at(1000, 90), at(1040, 100)}})
	require.NoError(t, err)
	assert.Equal(t, claim.Met, v.Outcome, v.Reason)
}

func TestClaimsThatCannotBeJudged(t *testing.T) {
	_, err := claim.Judge(nil, claim.Evidence{})
	assert.ErrorContains(t, err, "there is no claim")
	mass := func(v, u float64) claim.Stated {
		return claim.Stated{Name: "mass", Value: 250, Unit: "g", Tolerance: 5, Measured: response.Figure{Value: v, Uncertainty: u, Unit: "g"}}
	}
	for _, c := range []claim.Stated{mass(250, -1), mass(250, math.Inf(1)), mass(math.Inf(1), 1)} {
		_, err := claim.Judge(c, claim.Evidence{})
		assert.ErrorContains(t, err, "give the standard uncertainty, not below zero")
	}
}
