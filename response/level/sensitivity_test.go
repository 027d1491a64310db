package level_test

import (
	"math"
	"testing"

	"example.com/earnest/response"
	"example.com/earnest/response/level"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A calibrator of 94 dB SPL at a peak of −20 dBFS, −23.01 dB rms: what is recorded at
// −23.01 dB rms is 94 dB SPL at any frequency.
func TestRecordedLevelsBecomeSoundPressure(t *testing.T) {
	s, err := level.Calibrator{Level: 94, Frequency: 1000}.Sensitivity(exact(-23.0103, level.RecordedLevel))
	require.NoError(t, err)
	recorded, err := response.NewCurve([]float64{100, 1000, 10000}, []float64{-23.0103, -33.0103, math.NaN()})
	require.NoError(t, err)
	sound := s.Curve(recorded)
	assert.InDeltaSlice(t, []float64{94, 84}, sound.Level[:2], 1e-9, "rounding")
	assert.True(t, math.IsNaN(sound.Level[2]))
}
