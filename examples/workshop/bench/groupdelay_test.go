package bench

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A quiet measurement: the group delay is known over the band, and around 1 kHz, where the pair is
// nearly flat, it is that of the peak.
func TestGroupDelay(t *testing.T) {
	r, err := New().Measure(context.Background(), Default())
	require.NoError(t, err)
	require.NoError(t, r.Problem)
	delay, err := r.GroupDelay()
	require.NoError(t, err)
	require.Len(t, delay, len(Grid))
	known := 0
	for i, f := range Grid {
		if !math.IsNaN(delay[i]) {
			known++
		}
		if f > 800 && f < 1200 {
			assert.InDelta(t, 0, delay[i], 0.5, "ms; %v Hz", f)
		}
	}
	assert.Greater(t, known, len(Grid)*9/10, "most of 20 Hz to 20 kHz")
}
