package claim_test

import (
	"math"
	"testing"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/target/claim"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Properties that hold for any numbers; more cases with -rapid.checks=N.

func judged(t *rapid.T, c claim.Claim, e claim.Evidence) claim.Verdict {
	v, err := claim.Judge(c, e)
	require.NoError(t, err)
	return v
}

// A weaker claim is not refuted where a stronger one is met.
func TestPropertyAWeakerClaimIsNotHarderToMeet(t *testing.T) {
	e := evidence()
	rapid.Check(t, func(t *rapid.T) {
		more := rapid.Float64Range(0, 5).Draw(t, "more")
		at := rapid.SampledFrom([]float64{100, 1000, 3000}).Draw(t, "at")
		x := rapid.Float64Range(0.05, 5).Draw(t, "x")
		two := rapid.SampledFrom([][2]claim.Claim{
			{claim.Distortion{At: at, Level: 94, Percent: x}, claim.Distortion{At: at, Level: 94, Percent: x + more}},
			{claim.MaximumLevel{At: at, Level: 115 - x, Percent: 1}, claim.MaximumLevel{At: at, Level: 115 - x - more, Percent: 1}},
			{claim.Match{At: at, Within: x}, claim.Match{At: at, Within: x + more}},
			{claim.Sensitivity{Value: 98, Unit: claim.PerMilliwatt, At: 1000, Tolerance: x}, claim.Sensitivity{Value: 98, Unit: claim.PerMilliwatt, At: 1000, Tolerance: x + more}},
			{claim.Impedance{Ohms: 30, At: at, Tolerance: 5 * x}, claim.Impedance{Ohms: 30, At: at, Tolerance: 5 * (x + more)}},
			{claim.FrequencyRange{Band: response.Band{Low: 30, High: 15000}, Down: x, Reference: claim.Reference{At: 1000}},
				claim.FrequencyRange{Band: response.Band{Low: 30, High: 15000}, Down: x + more, Reference: claim.Reference{At: 1000}}},
			{claim.FrequencyRange{Band: response.Band{Low: 30, High: 15000}, Down: x, Reference: claim.Reference{At: 1000}},
				claim.FrequencyRange{Band: response.Band{Low: 30 + 10*more, High: 15000 - 1000*more}, Down: x, Reference: claim.Reference{At: 1000}}},
		}).Draw(t, "claims")
		strong, weak := judged(t, two[0], e), judged(t, two[1], e)
		if strong.Outcome == claim.Met {
			require.Equal(t, claim.Met, weak.Outcome, "%v, and so %v", two[0], two[1])
		}
		if weak.Outcome == claim.NotMet {
			require.Equal(t, claim.NotMet, strong.Outcome, "not %v, and so not %v", two[1], two[0])
		}
	})
}

// Without evidence, or with a figure that is not known, no claim is met or refuted.
func TestPropertyUnknownFiguresDecideNoClaim(t *testing.T) {
	unknown := response.Figure{Value: math.NaN(), Uncertainty: math.NaN()}
	rapid.Check(t, func(t *rapid.T) {
		at, x := rapid.Float64Range(20, 20000).Draw(t, "at"), rapid.Float64Range(0.1, 99).Draw(t, "x")
		e := claim.Evidence{}
		if rapid.Bool().Draw(t, "not known") {
			e.THD = []distortion.THD{{Frequency: at, Level: 94, Reading: distortion.Reading{Figure: unknown, AsRead: math.NaN(), Bound: math.NaN()}}}
			e.Loudest = []claim.LoudestLevel{{FigureAt: claim.FigureAt{Frequency: at, Figure: unknown}, Percent: 1}}
			e.Sensitivity = []claim.FigureAt{{Frequency: at, Figure: response.Figure{Value: math.NaN(), Unit: claim.PerMilliwatt}}}
			e.Impedance = []claim.FigureAt{{Frequency: at, Figure: unknown}}
		}
		for _, c := range []claim.Claim{
			claim.Distortion{At: at, Level: 94, Percent: x}, claim.MaximumLevel{At: at, Level: x, Percent: 1}, claim.Match{At: at, Within: x},
			claim.Sensitivity{Value: x, Unit: claim.PerMilliwatt, At: at}, claim.Impedance{Ohms: x, At: at}, claim.Impedance{Ohms: x},
			claim.FrequencyRange{Band: response.Band{Low: 20, High: 20000}, Down: x, Reference: claim.Reference{At: at}},
		} {
			require.Equal(t, claim.CannotTell, judged(t, c, e).Outcome, "%v", c)
		}
	})
}
