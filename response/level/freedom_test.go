package level_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/response/level"
)

// Welch and Satterthwaite (JCGM 100:2008, G.4.1) by hand: ν = u⁴/Σ(u_i⁴/ν_i).
func TestDegreesOfFreedomComeThrough(t *testing.T) {
	tone := response.Figure{Value: -24, Uncertainty: 0.1, DegreesOfFreedom: 4, Unit: level.RecordedLevel}
	s, err := level.Calibrator{Level: 94, Frequency: 1000, Tolerance: 0.2 * math.Sqrt(3)}.Sensitivity(tone)
	require.NoError(t, err)
	assert.InDelta(t, math.Sqrt(0.05), s.FullScale.Uncertainty, 1e-9, "0.1 and 0.2 dB; rounding")
	assert.InDelta(t, 0.05*0.05/(0.0001/4), s.FullScale.DegreesOfFreedom, 1e-6, "(0.1² + 0.2²)²/(0.1⁴/4); rounding")

	recorded := response.Figure{Value: -10, Uncertainty: 0.3, DegreesOfFreedom: 2, Unit: level.RecordedLevel}
	spl := s.SPL(recorded)
	assert.InDelta(t, 0.14*0.14/(0.0081/2+0.0001/4), spl.DegreesOfFreedom, 1e-6, "0.05 + 0.09; 0.3⁴/2 and 0.1⁴/4; rounding")
	low, high := spl.Interval(0.95)
	assert.Greater(t, high-low, 2*1.96*spl.Uncertainty, "Student's t, not the normal distribution's")

	volts, err := level.OutputVoltage(response.Figure{Value: 1, Uncertainty: 0.01, DegreesOfFreedom: 3, Unit: level.Volt}, 0)
	require.NoError(t, err)
	assert.InDelta(t, 3, volts.DegreesOfFreedom, 1e-9, "a factor changes none; rounding")

	perVolt := response.Figure{Value: 100, Uncertainty: 0.4, DegreesOfFreedom: 1, Unit: level.SoundPerVolt}
	perMilliwatt, err := level.PerMilliwatt(perVolt, response.Figure{Value: 32, Unit: level.Ohm})
	require.NoError(t, err)
	assert.InDelta(t, 1, perMilliwatt.DegreesOfFreedom, 1e-9, "two seatings; rounding")
	assert.NotNil(t, perMilliwatt.Budget)
}
