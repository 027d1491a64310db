package report

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
	"example.com/earnest/target/review"
)

// Crosstalk of −52 dB at 1 kHz, where the impedance is 32 Ω: a shared return lead of 0.08 Ω gives
// all of it, R/Z = 1/400.
func TestWhatAResistanceSaysOfCrosstalk(t *testing.T) {
	curve := func(level float64) response.Curve {
		c, err := response.NewCurve([]float64{20, 20000}, []float64{level, level})
		require.NoError(t, err)
		return c
	}
	c := &review.Crosstalk{Level: curve(-52), Floor: curve(-90)}
	for _, one := range []struct {
		ohm, uncertainty float64
		told, leaks      bool
	}{
		{0.08, 0.01, true, false},
		{0.02, 0.05, false, false}, // up to 0.12 Ω
		{0.01, 0.01, false, true},  // up to 0.03 Ω, −60.6 dB
		{-0.1, 0.02, false, true},  // below zero
		{-0.02, 0.05, false, false},
	} {
		g := &review.CommonGround{Resistance: response.Figure{Value: one.ohm, Uncertainty: one.uncertainty, Unit: "Ω"},
			Common: curve(decibel.OfAmplitude(max(one.ohm, -one.ohm) / 32))}
		assert.Equal(t, one.told, told(g), "%v Ω", one.ohm)
		assert.Equal(t, one.leaks, leaks(g, c), "%v Ω", one.ohm)
	}
}
