package response_test

import (
	"math"
	"testing"
	"time"

	"example.com/earnest/response"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Two equal samples are a pulse half-way between them, at the very ends of a response too.
func TestDelayAtTheEndsOfAResponse(t *testing.T) {
	for first, want := range map[int]float64{0: 0.5, 60: 60.5, 98: 98.5} {
		h := &response.Impulse{Samples: make([]float64, 100), SampleRate: 1000, Valid: response.AllFrequencies}
		h.Samples[first], h.Samples[first+1] = 1, 1
		delay, err := h.Delay()
		require.NoError(t, err)
		assert.InDelta(t, want, delay*1000, 1e-4, "samples; where the search ends")
	}
}

func TestWindowReachesTheEndsOfAResponse(t *testing.T) {
	h := &response.Impulse{Samples: make([]float64, 20), SampleRate: 1000, Valid: response.AllFrequencies}
	for i := range h.Samples {
		h.Samples[i] = 1
	}
	before := h.WindowAt(0.002, 10*time.Millisecond, 10*time.Millisecond) // sample 0 is the ninth
	assert.Equal(t, []float64{0, 1}, before.Samples[7:9])
	after := h.WindowAt(0.018, 10*time.Millisecond, 10*time.Millisecond) // sample 19 is the twelfth
	assert.Equal(t, []float64{1, 0}, after.Samples[11:13])
}

// An echo nine samples later, both band-limited to a quarter of the sample rate: the peak is that
// of the sum of the two sinc functions.
func TestDelayOfAPulseWithAnEcho(t *testing.T) {
	at := func(x float64) float64 {
		sinc := func(x float64) float64 {
			if x == 0 {
				return 1
			}
			return math.Sin(math.Pi*x) / (math.Pi * x)
		}
		return sinc((x-100.37)/2) + 0.6*sinc((x-109.37)/2)
	}
	h := &response.Impulse{Samples: make([]float64, 200), SampleRate: 48000, Valid: response.AllFrequencies}
	for i := range h.Samples {
		h.Samples[i] = at(float64(i))
	}
	want := 99.0
	for x := want; x < 102; x += 1e-4 {
		if at(x) > at(want) {
			want = x
		}
	}
	delay, err := h.Delay()
	require.NoError(t, err)
	assert.InDelta(t, want, delay*48000, 0.002, "samples; 64 of the sinc's")
}

// If the harmonics are not known, the window begins 200 ms before the peak.
func TestWindowOfAResponseFromElsewhere(t *testing.T) {
	h := &response.Impulse{Samples: make([]float64, 1200), SampleRate: 1000, Valid: response.AllFrequencies}
	h.Samples[500] = 1
	w, err := h.Window(0, 0)
	require.NoError(t, err)
	assert.InDelta(t, 0.3, w.Time(0), 1e-12, "rounding")
	assert.InDelta(t, 1, w.Time(len(w.Samples)-1), 1e-12, "500 ms after it; rounding")
}
