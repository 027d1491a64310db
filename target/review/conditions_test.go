package review

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
)

// Sides of 0 and 1 dB, and of 6 and 9 dB; a decay in closed form, and a right side that lacks a
// third seating.
func TestSeatingsOfACondition(t *testing.T) {
	r := &Results{Left: twoSeatings(t, "left", 0, 6), Right: twoSeatings(t, "right", 1, 9)}
	for _, side := range r.Sides() {
		for i, reading := range side.Seatings {
			reading.seating, reading.Name, reading.Harmonics = i+1, string(rune('a'+i)), &distortion.HarmonicSet{}
		}
	}
	r.Right.Seatings[1].Harmonics = seated(0.1, 0.001).Harmonics
	const rate, tau = 48000, 0.02
	h := &response.Impulse{Samples: make([]float64, 1<<15), SampleRate: rate, Zero: 1 << 12, Valid: response.Band{Low: 20, High: 20000}}
	for i := range h.Samples[h.Zero:] {
		at := float64(i) / rate
		h.Samples[h.Zero+i] = math.Exp(-at/tau) * math.Cos(2*math.Pi*1000*at)
	}
	r.Left.Seatings[0].Transfer = h.Transfer()
	extra := *r.Left.Seatings[0]
	extra.seating = 3
	r.Left.Seatings = append(r.Left.Seatings, &extra)
	r.Programmes = []*Programme{{Name: "song", DirectLoudness: -20, ThroughLoudness: -23.5}}

	all, err := r.InCondition("new")
	require.NoError(t, err)
	require.Len(t, all, 2, "those with every side")
	assert.Equal(t, "b", all[1].Placement)
	assert.Equal(t, "new", all[1].Condition)
	assert.InDelta(t, 0.5, all[0].Response.At(500), 1e-12, "rounding")
	assert.InDelta(t, 7.5, all[1].Response.At(500), 1e-12, "rounding")
	assert.InDelta(t, -3, all[1].Figures["channel balance (L−R)"].Value, 1e-12, "rounding")
	assert.InDelta(t, -60, all[1].Figures["distortion at 1 kHz"].Value, 0.001, "0.1 %")
	assert.InEpsilon(t, 1000*tau*math.Log(1000)/2, all[0].Figures["decay at 1 kHz"].Value, 0.05, "the decay of the band's filter")
	assert.InDelta(t, -3.5, all[0].Figures["loudness of song re direct"].Value, 1e-12, "rounding")
	assert.NotContains(t, all[1].Figures, "loudness of song re direct", "measured once")

	r.Right.Seatings = r.Right.Seatings[:1]
	r.Right.Seatings[0].seating = 9
	_, err = r.InCondition("new")
	assert.ErrorContains(t, err, "with every side")
}
