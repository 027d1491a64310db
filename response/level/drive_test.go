package level_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/response/level"
)

func headphones(perVolt, ohms float64) level.Headphones {
	return level.Headphones{Sensitivity: exact(perVolt, level.SoundPerVolt), Impedance: exact(ohms, level.Ohm)}
}

// Ohm's law: V = 10^((L − S)/20), I = V/Z, P = V²/Z.
func TestDrive(t *testing.T) {
	for _, c := range []struct {
		name                       string
		h                          level.Headphones
		level                      float64
		volts, amperes, milliwatts float64
	}{
		{"the sensitivity itself takes a volt", headphones(100, 300), 100, 1, 1.0 / 300, 3.3333},
		{"20 dB more takes ten", headphones(100, 300), 120, 10, 10.0 / 300, 333.33},
		{"10 dB more takes √10, ten times the power", headphones(112, 32), 122, 3.16228, 0.0988212, 312.5},
		{"12 dB less", headphones(112, 32), 100, 0.251189, 0.00784965, 1.97174},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, err := c.h.Drive(exact(c.level, level.SoundPressure))
			require.NoError(t, err)
			assert.InEpsilon(t, c.volts, d.Voltage.Value, 1e-5, "digits of the reference")
			assert.InEpsilon(t, c.amperes, d.Current.Value, 1e-5, "digits of the reference")
			assert.InEpsilon(t, c.milliwatts, d.Power.Value, 1e-4, "digits of the reference")
			assert.Zero(t, d.Voltage.Uncertainty, "exact inputs")
		})
	}
}

// The crest of 1 V rms is √2 V, 3.01 dB higher; a peak of 103.01 dB thus takes the sine of 100 dB.
func TestDriveForAPeak(t *testing.T) {
	d, err := headphones(100, 300).DrivePeak(exact(103.0103, level.PeakSoundPressure))
	require.NoError(t, err)
	assert.InDelta(t, 1, d.Voltage.Value, 1e-6, "digits of the reference")
	_, err = headphones(100, 300).DrivePeak(exact(103, level.SoundPressure))
	assert.ErrorIs(t, err, level.ErrInput, "an rms level is not a peak")
}

// 1 dB of sensitivity is ln 10/20 = 11.5 % of voltage and 23 % of power; with 5 % of impedance, √(23.0² + 5²) % = 23.6 %.
func TestDriveCarriesUncertainty(t *testing.T) {
	h := level.Headphones{
		Sensitivity: response.Figure{Value: 100, Uncertainty: 1, Unit: level.SoundPerVolt},
		Impedance:   response.Figure{Value: 300, Uncertainty: 15, Unit: level.Ohm},
	}
	d, err := h.Drive(exact(110, level.SoundPressure))
	require.NoError(t, err)
	assert.InDelta(t, 0.115, d.Voltage.Uncertainty/d.Voltage.Value, 0.001, "second order of 11 %")
	assert.InDelta(t, 0.236, d.Power.Uncertainty/d.Power.Value, 0.003, "second order of 23 %")
	h.Sensitivity.Uncertainty = math.NaN()
	d, err = h.Drive(exact(110, level.SoundPressure))
	require.NoError(t, err)
	assert.True(t, math.IsNaN(d.Power.Uncertainty), "not known stays not known")
}

// Circuit theory: Vmax Z/(Z + Zo) against Imax Z.
func TestHighestLevel(t *testing.T) {
	for _, c := range []struct {
		name           string
		volts, amperes float64
		output         float64
		h              level.Headphones
		level          float64
		by             level.Bottleneck
	}{
		{"high impedance: voltage", 2, 0.05, 0, headphones(100, 300), 106.0206, level.VoltageLimit},
		{"low impedance: current, 50 mA in 16 Ω is 0.8 V", 2, 0.05, 0, headphones(115, 16), 113.0618, level.CurrentLimit},
		{"output impedance as high as the load halves", 2, 1, 32, headphones(112, 32), 112, level.VoltageLimit},
		{"only voltage stated", 2, 0, 0, headphones(100, 16), 106.0206, level.VoltageLimit},
		{"only current stated", 0, 0.1, 0, headphones(100, 10), 100, level.CurrentLimit},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := level.Amplifier{MaxVoltage: exact(c.volts, level.Volt), MaxCurrent: exact(c.amperes, level.Ampere), OutputImpedance: exact(c.output, level.Ohm)}
			r, err := a.MaxSPL(c.h)
			require.NoError(t, err)
			assert.InDelta(t, c.level, r.Level.Value, 1e-4, "digits of the reference")
			assert.InDelta(t, c.level+3.0103, r.Peak.Value, 1e-4, "crest of a sine")
			assert.Equal(t, c.by, r.By)
			assert.True(t, r.Sure)
			assert.InDelta(t, r.Drive.Voltage.Value, r.Drive.Current.Value*c.h.Impedance.Value, 1e-12, "Ohm")
			assert.Contains(t, strings.Join(r.Findings, "\n"), level.Caution)
			assert.Equal(t, c.volts == 0 || c.amperes == 0, strings.Contains(strings.Join(r.Findings, "\n"), "not stated"))
		})
	}
}

// With 1 V and 10 mA into 100 Ω both limits meet; an uncertainty of the impedance leaves open which it is.
func TestHighestLevelMayNotKnowTheLimit(t *testing.T) {
	a := level.Amplifier{MaxVoltage: exact(1, level.Volt), MaxCurrent: exact(0.0101, level.Ampere), OutputImpedance: exact(0, level.Ohm)}
	h := headphones(90, 100)
	h.Impedance.Uncertainty = 5
	r, err := a.MaxSPL(h)
	require.NoError(t, err)
	assert.False(t, r.Sure)
	assert.InDelta(t, 90, r.Level.Value, 1e-9, "1 V")
	assert.Empty(t, r.Findings, "90 dB SPL is below where the caution begins")
}

func TestAmplifierThatCannotBeUsed(t *testing.T) {
	for name, a := range map[string]level.Amplifier{
		"no limit stated":           {},
		"negative voltage":          {MaxVoltage: exact(-1, level.Volt)},
		"current in mA":             {MaxCurrent: exact(50, "mA")},
		"output impedance left out": {MaxVoltage: exact(1, level.Volt)},
		"negative output impedance": {MaxVoltage: exact(1, level.Volt), OutputImpedance: exact(-1, level.Ohm)},
	} {
		_, err := a.MaxSPL(headphones(100, 300))
		assert.ErrorIs(t, err, level.ErrInput, name)
	}
	_, err := level.Amplifier{MaxVoltage: exact(1, level.Volt)}.MaxSPL(headphones(100, 0))
	assert.ErrorIs(t, err, level.ErrInput)
}
