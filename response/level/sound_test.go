package level_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/response/level"
)

// A volt makes 1000/Z mW in Z ohms, P = V²/Z: 3.333 mW in 300 Ω, 31.25 mW in 32 Ω, so +5.23 dB and
// +14.95 dB.
func TestPerMilliwatt(t *testing.T) {
	for _, c := range []struct {
		name               string
		ohms, perMilliwatt float64
		perVolt            float64
	}{
		{"300 Ω", 300, 97, 102.23},
		{"32 Ω", 32, 97, 111.95},
		{"16 Ω, 62.5 mW", 16, 100, 117.96},
		{"1 kΩ, 1 mW", 1000, 100, 100},
		{"above 1 kΩ a volt is less than a milliwatt", 2000, 100, 96.99},
	} {
		t.Run(c.name, func(t *testing.T) {
			v, err := level.PerMilliwatt(exact(c.perVolt, level.SoundPerVolt), exact(c.ohms, level.Ohm))
			require.NoError(t, err)
			assert.InDelta(t, c.perMilliwatt, v.Value, 0.005, "two decimals of the reference")
			assert.Equal(t, level.SoundPerMilliwatt, v.Unit)
		})
	}
}

// 5 % of impedance is 10/ln 10 · 0.05 = 0.217 dB, with 0.5 dB of sensitivity √(0.5² + 0.217²) =
// 0.545 dB.
func TestConversionCarriesUncertainty(t *testing.T) {
	v, err := level.PerMilliwatt(response.Figure{Value: 100, Uncertainty: 0.5, Unit: level.SoundPerVolt}, response.Figure{Value: 300, Uncertainty: 15, Unit: level.Ohm})
	require.NoError(t, err)
	assert.InDelta(t, 0.545, v.Uncertainty, 0.001, "differences against the derivative: 5 %² of 0.2")
	v, err = level.PerMilliwatt(response.Figure{Value: 100, Uncertainty: math.NaN(), Unit: level.SoundPerVolt}, exact(300, level.Ohm))
	require.NoError(t, err)
	assert.True(t, math.IsNaN(v.Uncertainty), "an unknown uncertainty stays unknown")
}

func TestFiguresThatCannotBeUsed(t *testing.T) {
	for _, c := range []struct {
		name      string
		impedance response.Figure
		says      string
	}{
		{"nothing", exact(0, level.Ohm), "not above zero"},
		{"negative", exact(-3, level.Ohm), "not above zero"},
		{"not known", exact(math.NaN(), level.Ohm), "not known"},
		{"the zero figure", response.Figure{}, "not known"},
		{"without a unit", exact(300, ""), "without a unit; give it in Ω"},
		{"another unit", exact(0.3, "kΩ"), "given in kΩ; give it in Ω"},
		{"negative uncertainty", response.Figure{Value: 300, Uncertainty: -1, Unit: level.Ohm}, "uncertainty"},
	} {
		t.Run(c.name, func(t *testing.T) {
			v, err := level.PerMilliwatt(exact(100, level.SoundPerVolt), c.impedance)
			require.ErrorIs(t, err, level.ErrInput)
			assert.ErrorContains(t, err, c.says)
			assert.False(t, v.Known())
		})
	}
}

// A full-scale sine of 2 V rms has a crest of 2.828 V; at −20 dBFS it is that of a tenth of the
// samples.
func TestOutputVoltage(t *testing.T) {
	v, err := level.OutputVoltage(response.Figure{Value: 2, Uncertainty: 0.02, Unit: level.Volt}, 0)
	require.NoError(t, err)
	assert.InDelta(t, 2.8284, v.Value, 1e-4, "digits")
	assert.InDelta(t, 0.0283, v.Uncertainty, 1e-4, "1 %")
	v, err = level.OutputVoltage(exact(0.2, level.Volt), -20)
	require.NoError(t, err)
	assert.InDelta(t, 2.8284, v.Value, 1e-4, "digits")
	_, err = level.OutputVoltage(exact(0.2, level.Volt), 3)
	assert.ErrorIs(t, err, level.ErrInput, "above full scale")
}

// The chain by hand: headphones of 102 dB SPL/V on an output of 2.828 V per sample, a microphone at
// 120 dB SPL for samples of rms 1. A sine of 1 V rms is samples of rms 1/2.828; it makes 102 dB
// SPL, recorded as −18 dB rms. So the response is −18 − 20 log10(1/2.828) = −8.97 dB.
func TestPerVoltCurve(t *testing.T) {
	c, err := response.NewCurve([]float64{100, 1000, 10000}, []float64{-18 + 9.0309, -18 + 9.0309, -21 + 9.0309})
	require.NoError(t, err)
	c.Uncertainty = []float64{0.3, 0.3, 0.4}
	perVolt, err := level.PerVoltCurve(c, level.Sensitivity{FullScale: response.Figure{Value: 120, Uncertainty: 0.4, Unit: level.SoundPressure}},
		response.Figure{Value: 2 * math.Sqrt2, Unit: level.VoltPerSample})
	require.NoError(t, err)
	assert.InDeltaSlice(t, []float64{102, 102, 99}, perVolt.Level, 1e-3, "digits of the reference")
	assert.InDeltaSlice(t, []float64{0.5, 0.5, 0.5657}, perVolt.Uncertainty, 1e-4, "root sum of squares")
	assert.Equal(t, "20 µPa at 1 V", perVolt.Reference)
}

// 94 dB SPL recorded as a sine of peak −20 dBFS, −23.01 dB rms: samples of rms 1 are 117.01 dB SPL.
// Tolerance 0.4 dB: 0.4/√3 = 0.231 dB.
func TestSensitivityFromCalibrator(t *testing.T) {
	s, err := level.Calibrator{Level: 94, Frequency: 1000, Tolerance: level.Class1}.Sensitivity(response.Figure{Value: -23.0103, Uncertainty: 0.05, Unit: level.RecordedLevel})
	require.NoError(t, err)
	assert.InDelta(t, 117.0103, s.FullScale.Value, 1e-9, "rounding")
	assert.InDelta(t, math.Sqrt(0.4*0.4/3+0.05*0.05), s.FullScale.Uncertainty, 1e-9, "rounding")
	assert.InDelta(t, 100, s.SPL(exact(-17.0103, level.RecordedLevel)).Value, 1e-9, "rounding")

	for _, bad := range []level.Calibrator{{}, {Level: 94}, {Level: 9.4, Frequency: 1000}, {Level: 94, Frequency: 1000, Tolerance: -1}} {
		_, err := bad.Sensitivity(exact(-23, level.RecordedLevel))
		assert.ErrorIs(t, err, level.ErrInput, "%+v", bad)
	}
	_, err = level.Calibrator{Level: 94, Frequency: 1000}.Sensitivity(exact(math.NaN(), ""))
	assert.ErrorIs(t, err, level.ErrInput)
}

// JCGM 100:2008, 7.2.6: two digits of uncertainty, and the value to the same place.
func TestFigureForAReader(t *testing.T) {
	for _, c := range []struct {
		f    response.Figure
		want string
	}{
		{response.Figure{Value: 94.1276, Uncertainty: 0.2468, Unit: "dB SPL"}, "94.13 dB SPL with u = 0.25 dB SPL"},
		{response.Figure{Value: 312.7, Uncertainty: 14.2, Unit: "Ω"}, "313 Ω with u = 14 Ω"},
		{response.Figure{Value: 0.123456, Unit: "V"}, "0.1235 V"},
		{response.Figure{Value: 12, Uncertainty: math.NaN(), Unit: "V"}, "12 V"},
		{response.Figure{Value: math.NaN(), Unit: "V"}, "not known"},
	} {
		assert.Equal(t, c.want, c.f.String())
	}
}
