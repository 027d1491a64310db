package target_test

import (
	"math"
	"testing"

	"example.com/earnest/response"
	"example.com/earnest/target"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A pair put on three times, at −1, 0 and +1 dB in the treble: the standard deviation is 1 dB, that
// of the mean 1/√3 dB with two degrees of freedom.
func TestPairPutOnSeveralTimes(t *testing.T) {
	grid := response.LogGrid(20, 20000, 24)
	var seatings []response.Curve
	for _, treble := range []float64{-1, 0, 1} {
		seatings = append(seatings, curveOn(t, grid, func(x float64) float64 {
			if x > 2 {
				return 80 + treble
			}
			return 80
		}))
	}
	to, err := target.FromPair("trusted", seatings...)
	require.NoError(t, err)
	assert.InDelta(t, 1/math.Sqrt(3), to.Curve.UncertaintyAt(10000), 1e-9, "rounding")
	assert.InDelta(t, 0, to.Curve.UncertaintyAt(100), 1e-9, "rounding")
	require.Len(t, to.Curve.Components, 1)
	assert.InDelta(t, 2, to.Curve.Components[0].DegreesOfFreedom, 0)
	d := compare(t, seatings[1], to, target.Config{})
	assert.InDelta(t, 0, d.RMS.Value, 1e-9, "the middle one is the mean")
	tilts, err := target.CompareSeatings([]response.Curve{seatings[1], seatings[1]}, to, target.Config{})
	require.NoError(t, err)
	assert.Positive(t, tilts.Tilt.Uncertainty, "the target's own")
	assert.InDelta(t, 2, tilts.Tilt.DegreesOfFreedom, 1e-9)

	_, err = target.FromPair("none")
	assert.ErrorContains(t, err, "there is no curve; give one for each seating")
	other := seatings[0]
	other.Rig = "ear simulator"
	_, err = target.FromPair("two rigs", seatings[0], other)
	assert.ErrorIs(t, err, response.ErrOtherRig)
	_, err = target.FromPair("apart", seatings[0].Within(response.Band{Low: 20, High: 90}), seatings[1].Within(response.Band{Low: 100, High: 900}))
	assert.ErrorContains(t, err, "the level is known nowhere")
	other.Rig = ""
	_, err = target.FromPair("no rig", other, other)
	assert.ErrorContains(t, err, "set Rig")
}

// A target shares no memory with its curve: writing into it leaves the curve unchanged.
func TestTargetSharesNoMemoryWithItsCurve(t *testing.T) {
	c := curveOn(t, []float64{20, 20000}, func(float64) float64 { return 1 })
	c.Uncertainty = []float64{0.5, 0.5}
	to, err := target.FromPair("trusted", c)
	require.NoError(t, err)
	to.Curve.Frequency[0], to.Curve.Level[0], to.Curve.Uncertainty[0] = 1, 2, 3
	assert.Equal(t, []float64{20, 1, 0.5}, []float64{c.Frequency[0], c.Level[0], c.Uncertainty[0]})
}
