package response_test

import (
	"testing"
	"time"

	"example.com/earnest/response"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Two equal samples are a pulse half-way between them, at the very ends of a response too.
func TestDelayAtTheEndsOfAResponse(t *testing.T) {
	for first, want := range map[int]float64{0: 0.5, 60: 60.5, 98: 98.5} {
		h := &response.Impulse{Samples: make([]float64, 100), SampleRate: 1000, Valid: response.Everywhere}
		h.Samples[first], h.Samples[first+1] = 1, 1
		delay, err := h.Delay()
		require.NoError(t, err)
		assert.InDelta(t, want, delay*1000, 1e-4, "samples; where the search ends")
	}
}

func TestWindowReachesTheEndsOfAResponse(t *testing.T) {
	h := &response.Impulse{Samples: make([]float64, 20), SampleRate: 1000, Valid: response.Everywhere}
	for i := range h.Samples {
		h.Samples[i] = 1
	}
	before := h.WindowAt(0.002, 10*time.Millisecond, 10*time.Millisecond) // sample 0 is the ninth
	assert.Equal(t, []float64{0, 1}, before.Samples[7:9])
	after := h.WindowAt(0.018, 10*time.Millisecond, 10*time.Millisecond) // sample 19 is the twelfth
	assert.Equal(t, []float64{1, 0}, after.Samples[11:13])
}
