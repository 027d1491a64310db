package claim_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/claim"
)

// The reason of every kind of claim states the interval, since the reader has no figure beside it.
// Half an interval is 1.96 standard uncertainties of many degrees of freedom, or 4.303 of two, by a
// table of Student's t.
func TestReasonsStateTheInterval(t *testing.T) {
	figure := func(value, u, freedom float64, unit string) response.Figure {
		return response.Figure{Value: value, Uncertainty: u, DegreesOfFreedom: freedom, Unit: unit}
	}
	level := func(at1k float64) response.Curve {
		return response.Curve{Frequency: []float64{500, 1000, 2000}, Level: []float64{0, at1k, 0}, Valid: response.Band{Low: 500, High: 2000}}
	}
	e := claim.Evidence{
		Evidence: target.Evidence{
			THD:   []distortion.THD{{Frequency: 1000, Level: 94, Reading: distortion.Reading{Figure: figure(0.12, 0.01, 0, "%"), AsRead: 0.12}}},
			Match: []response.Curve{level(0.5), level(0.6), level(0.7)}, // 0.6 dB, and 0.1/√3 dB of two degrees of freedom
		},
		Loudest:     []claim.LoudestLevel{{FigureAt: claim.FigureAt{Frequency: 1000, Figure: figure(112, 0.5, 2, "dB SPL")}, Percent: 0.5}},
		Sensitivity: []claim.FigureAt{{Frequency: 1000, Figure: figure(98, 0.5, 0, claim.PerMilliwatt)}},
		Impedance:   []claim.FigureAt{{Frequency: 1000, Figure: figure(33, 0.2, 0, "Ω")}},
	}
	for _, c := range []struct {
		claim claim.Claim
		says  string
	}{
		{claim.Distortion{At: 1000, Level: 94, Percent: 0.2}, "0.120 % (95 % confidence: 0.100 to 0.140 %)"},
		{claim.MaximumLevel{Level: 110, At: 1000, Percent: 1}, "112.0 dB SPL (95 % confidence: 109.8 to 114.2 dB SPL)"},
		{claim.MaximumLevel{Level: 100}, "112.0 dB SPL (95 % confidence: 109.8 to 114.2 dB SPL)"},
		{claim.Sensitivity{Value: 98, Unit: claim.PerMilliwatt, At: 1000}, "98.00 dB SPL/mW (95 % confidence: 97.02 to 98.98 dB SPL/mW)"},
		{claim.Sensitivity{Value: 98, At: 1000}, "98.00 dB SPL/mW (95 % confidence: 97.02 to 98.98 dB SPL/mW)"},
		{claim.Sensitivity{Value: 98, Unit: claim.PerVolt, At: 1000, Tolerance: 90}, "112.81 dB SPL/V (95 % confidence: 111.83 to 113.80 dB SPL/V)"}, // 98 + 10 lg(1000/33)
		{claim.Impedance{Ohms: 32, At: 1000, Tolerance: 10}, "33.00 Ω (95 % confidence: 32.61 to 33.39 Ω)"},
		{claim.Match{Within: 1, At: 1000}, "0.60 dB (95 % confidence: 0.35 to 0.85 dB)"},
	} {
		v, err := claim.Judge(c.claim, e)
		require.NoError(t, err, c.claim)
		assert.Contains(t, v.Reason, c.says, c.claim)
	}
}
