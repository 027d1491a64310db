package response

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// A raised cosine is sin² of a quarter turn: over 10 ms, or all there is.
func TestGateRisesAsARaisedCosine(t *testing.T) {
	h := &Impulse{Samples: make([]float64, 1000), SampleRate: 1000}
	for i := range h.Samples {
		h.Samples[i] = 1
	}
	for _, c := range []struct{ start, stop, from, rise int }{{100, 500, 100, 10}, {-3, 1000, 0, 10}, {990, 996, 990, 6}} {
		dst := make([]float64, 1000)
		dst[50] = 7 // left over
		gated := h.gate(dst, c.start, c.stop)
		require.Len(t, gated, c.stop)
		for i, v := range gated {
			want := 0.0
			if i >= c.from {
				want = math.Pow(math.Sin(math.Pi/2*min(1, (float64(i-c.from)+0.5)/float64(c.rise))), 2)
			}
			require.InDelta(t, want, v, 1e-12, "sample %d from %d to %d; rounding", i, c.start, c.stop)
		}
	}
}
