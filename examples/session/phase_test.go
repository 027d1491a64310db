package session_test

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/demo"
	"example.com/earnest/examples/session"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
)

// The phase of a seating is that of the simulated pair on its plate, less the phase of the
// microphone, apart from a delay, which the recordings cannot separate from the latency.
func TestPhaseIsThatOfThePair(t *testing.T) {
	long.Skip(t)
	folder := t.TempDir()
	require.NoError(t, demo.Write(folder, demo.Options{Seconds: 2, Seatings: 2, Material: -1, Alone: true}, func(string) {}))
	s, err := session.Read(folder)
	require.NoError(t, err)
	m, err := s.ReviewResponse(nil)
	require.NoError(t, err)
	pair, _, r := rig.Demonstration()
	r.Microphone = nil
	for k, side := range m.Sides() {
		ear := []rig.Side{rig.Left, rig.Right}[k]
		delay := pair.Side(ear).Delay.Seconds()
		for seating, reading := range side.Seatings {
			grid := reading.Response.Frequency
			off := make([]float64, len(grid))
			var fit, weight float64 // of what remains of a delay
			for i, f := range grid {
				truth := r.Truth(pair, ear, seating, f) * cmplx.Rect(1, 2*math.Pi*f*delay)
				off[i] = cmplx.Phase(truth * cmplx.Rect(1, -reading.Phase[i]))
				fit, weight = fit+off[i]*f, weight+f*f
			}
			assert.InDelta(t, 0, fit/weight/(2*math.Pi), 2e-6, "s; a tenth of a sample, by which the driver's filters move the peak")
			for i, f := range grid {
				if f > 25 && f < 19000 {
					assert.InDelta(t, 0, (off[i]-fit/weight*f)*180/math.Pi, 4, "degrees, smoothing over 1/12 octave flattens a resonance of Q 8; at %g Hz, %s, %s", f, side.Name, reading.Name)
				}
			}
		}
		for i, mean := range side.Phase {
			both := side.Seatings[0].Phase[i] + side.Seatings[1].Phase[i]
			assert.InDelta(t, 0, math.Remainder(2*mean-both, 2*math.Pi), 1e-9, "rad; the mean of two phases is half-way between them, apart from rounding")
		}
	}
}
