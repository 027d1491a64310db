package report

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/distortion"
	"example.com/earnest/examples/session"
)

// −60 dB is 0.1 %; 2 dB above the floor nothing is known, and so nothing is
// written.
func TestTotalDistortionNearItsFloorIsNotKnown(t *testing.T) {
	hs := &distortion.HarmonicSet{
		Fundamental: []float64{100, 1000},
		Orders:      []distortion.Order{{N: 2, Level: []float64{-60, -80}, Floor: []float64{-100, -82}}},
	}
	d := compileDistortion(&session.Reading{Harmonics: hs})
	for _, percent := range [][]Number{d.THDToFundamental, d.THDToTotal} {
		assert.InDelta(t, 0.1, float64(percent[0]), 1e-6, "%; to the total it is less by a part in two million")
		assert.True(t, math.IsNaN(float64(percent[1])))
	}
}
