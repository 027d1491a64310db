package level_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/response/level"
)

func headphones(perVolt, ohms float64) [2]response.Figure {
	return [2]response.Figure{exact(perVolt, level.SoundPerVolt), exact(ohms, level.Ohm)}
}

// Circuit theory: the lower of Vmax Z/(Z + Zo) and Imax Z.
func TestHighestLevel(t *testing.T) {
	for _, c := range []struct {
		name           string
		volts, amperes float64
		output         float64
		h              [2]response.Figure
		level          float64
		by             string
	}{
		{"high impedance: voltage", 2, 0.05, 0, headphones(100, 300), 106.0206, level.VoltageLimit},
		{"low impedance: current, 50 mA in 16 Ω is 0.8 V", 2, 0.05, 0, headphones(115, 16), 113.0618, level.CurrentLimit},
		{"output impedance as high as the load halves", 2, 1, 32, headphones(112, 32), 112, level.VoltageLimit},
		{"only voltage stated", 2, 0, 0, headphones(100, 16), 106.0206, level.VoltageLimit},
		{"only current stated", 0, 0.1, 0, headphones(100, 10), 100, level.CurrentLimit},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := level.Amplifier{MaxVoltage: exact(c.volts, level.Volt), MaxCurrent: exact(c.amperes, level.Ampere), OutputImpedance: exact(c.output, level.Ohm)}
			r, err := a.MaxSPL(c.h[0], c.h[1])
			require.NoError(t, err)
			assert.InDelta(t, c.level, r.Level.Value, 1e-4, "digits of the reference")
			assert.Equal(t, c.by, r.By)
			assert.Contains(t, fmt.Sprint(r.Findings), level.Caution)
			assert.Equal(t, c.volts == 0 || c.amperes == 0, strings.Contains(fmt.Sprint(r.Findings), "not stated"))
		})
	}
}

// With 1 V and 10 mA into 100 Ω both limits nearly meet.
func TestHighestLevelOfASoftAmplifier(t *testing.T) {
	a := level.Amplifier{MaxVoltage: exact(1, level.Volt), MaxCurrent: exact(0.0101, level.Ampere), OutputImpedance: exact(0, level.Ohm)}
	r, err := a.MaxSPL(exact(90, level.SoundPerVolt), exact(100, level.Ohm))
	require.NoError(t, err)
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
		_, err := a.MaxSPL(exact(100, level.SoundPerVolt), exact(300, level.Ohm))
		assert.ErrorIs(t, err, level.ErrInput, name)
	}
	_, err := level.Amplifier{MaxVoltage: exact(1, level.Volt)}.MaxSPL(exact(100, level.SoundPerVolt), exact(0, level.Ohm))
	assert.ErrorIs(t, err, level.ErrInput)
}
