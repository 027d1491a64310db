package review

import (
	"math"
	"testing"

	"example.com/earnest/internal/testing/race"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/distortion"
)

// seated is a seating with a second harmonic and a floor in per cent at 1 kHz and
// an octave either way.
func seated(percent, floor float64) *Reading {
	level := func(percent float64) []float64 {
		l := 20 * math.Log10(percent/100)
		return []float64{l, l, l}
	}
	return &Reading{Harmonics: &distortion.HarmonicSet{
		Fundamental: []float64{500, 1000, 2000},
		Orders: []distortion.Order{{N: 2, Readings: distortion.Readings{
			Fundamental: []float64{500, 1000, 2000}, AsRead: level(percent), Floor: level(floor), Uncertainty: []float64{0.1, 0.1, 0.1},
		}}},
	}}
}

func TestTotalDistortionOfSeatings(t *testing.T) {
	race.Skip(t)
	two := &Side{Seatings: []*Reading{seated(0.10, 0.001), seated(0.12, 0.001)}}
	thd := two.THD(1000)
	assert.InDelta(t, 0.11, thd.Value, 1e-5, "%; the floor's power is subtracted")
	assert.InDelta(t, 0.01, thd.Uncertainty, 1e-6, "s/√n = 0.02/√2/√2; the floor's power is subtracted")
	assert.Equal(t, 1.0, thd.DegreesOfFreedom)
	assert.False(t, thd.Below)
	assert.InDelta(t, 0.11+6.3138*0.01, thd.Bound, 1e-5, "the one-sided 95 % point of Student's t with one degree")

	one := &Side{Seatings: two.Seatings[:1]}
	thd = one.THD(1000)
	assert.InDelta(t, 0.10, thd.Value, 1e-5, "%; the floor's power is subtracted")
	assert.InEpsilon(t, 0.001/math.Sqrt2, thd.Uncertainty, 1e-4, "the part of the floor along the harmonic")
	assert.Zero(t, thd.DegreesOfFreedom)

	hidden := &Side{Seatings: []*Reading{seated(0.10, 0.001), seated(0.12, 0.09)}}
	thd = hidden.THD(1000)
	assert.True(t, thd.Below, "one seating does not separate it from its floor")
	assert.Greater(t, thd.Bound, 0.11, "% in the root mean square of both")
	assert.Less(t, thd.Bound, 0.2)

	assert.False(t, two.THD(50).Known(), "no fundamental there")
}

// A seating whose noise is not known, as after a gate, has no harmonics. It is left out, whether it
// comes first or last, and so is a side of such seatings.
func TestDistortionOfASeatingWithoutAFloor(t *testing.T) {
	without := &Reading{Harmonics: &distortion.HarmonicSet{}}
	for name, seatings := range map[string][]*Reading{
		"first": {without, seated(0.10, 0.001), seated(0.12, 0.001)}, "last": {seated(0.10, 0.001), seated(0.12, 0.001), without},
	} {
		r := &Results{Left: &Side{Seatings: []*Reading{without}}, Right: &Side{Seatings: seatings}}
		all := r.thd()
		if assert.Len(t, all, 3, name) {
			assert.InDelta(t, 0.11, all[1].Value, 1e-5, "%%; %s: the mean of the two that are known", name)
		}
		r.Left, r.Right = r.Right, r.Left
		assert.Len(t, r.thd(), 3, name)
		r.Left = nil
		assert.Empty(t, r.thd(), name)
	}
}
