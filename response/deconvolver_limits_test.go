package response_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

func TestDeconvolverHasRoomForOneOrderOrAHundred(t *testing.T) {
	s := mustSweep(t, sweep.Config{Duration: time.Second})
	for _, orders := range []int{1, 100} {
		d, err := response.NewDeconvolver(s, response.DeconvolverConfig{Orders: orders})
		require.NoError(t, err)
		parts, err := d.Separate(s.Samples())
		require.NoError(t, err)
		assert.Equal(t, orders, parts.Orders)
	}
}

func TestRecordingMayBeAsShortAsTheSweep(t *testing.T) {
	s := mustSweep(t, sweep.Config{Duration: time.Second})
	d, err := response.NewDeconvolver(s, response.DeconvolverConfig{Longest: time.Duration(s.Len()) * time.Second / 48000})
	require.NoError(t, err)
	_, err = d.Impulse(s.Samples())
	require.NoError(t, err)
}

// The harmonics' 1.6 s fit into the sweep's 6 s, so the recording sets the length.
func TestCircleIsAsLongAsTheLongestRecording(t *testing.T) {
	d := common()
	h, err := d.Impulse(played(d.Sweep(), 0))
	require.NoError(t, err)
	longest := d.Sweep().Duration() + 2
	assert.InEpsilon(t, longest*48000, float64(len(h.Samples)), 0.05, "the next length worth transforming")
}

// The second harmonic comes L ln 2 before the linear response (Farina 2000): 0.10 s for a sweep of
// 1 s over three decades, of which the window uses 0.4.
func TestWindowOfAShortSweepKeepsClearOfTheSecondHarmonic(t *testing.T) {
	s := mustSweep(t, sweep.Config{Duration: time.Second})
	h, err := mustDeconvolver(t, s, response.DeconvolverConfig{}).Impulse(played(s, 0))
	require.NoError(t, err)
	w, err := h.Window(0, 0)
	require.NoError(t, err)
	want := 0.4 * s.TimeConstant() * math.Ln2
	assert.InDelta(t, 0.04, want, 0.002, "the sweep's rate is rounded for its phase")
	assert.InDelta(t, want, -w.Time(0), 1.0/48000, "a sample")
	before, after := response.DefaultWindow(s)
	assert.InDelta(t, want, before.Seconds(), 1e-9, "a duration's resolution")
	assert.Equal(t, response.DefaultAfter, after)
}
