package response_test

import (
	"math"
	"math/cmplx"
	"testing"
	"time"

	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/sweep"

	"github.com/stretchr/testify/require"
)

// A wire's response is |S|²/(|S|² + ε), so below 1 throughout; it ends 200 Hz above
// the sweep as a raised cosine.
func TestResponseOfAWireBeyondTheBand(t *testing.T) {
	race.Skip(t)
	s := mustSweep(t, sweep.Config{Stop: 10000, Duration: time.Second})
	h, err := mustDeconvolver(t, s, response.DeconvolverConfig{}).Impulse(played(s, 0))
	require.NoError(t, err)
	tr := h.TransferAbout(0, len(h.Samples)) // the bins of the division
	for k, v := range tr.Bins {
		f, gain := tr.Frequency(k), cmplx.Abs(v)
		require.LessOrEqual(t, gain, 1+1e-9, "%.1f Hz; rounding", f)
		switch above := f - s.Stop(); {
		case f > 50 && f < 9500: // clear of the fades
			require.InDelta(t, 0, 20*math.Log10(gain), 0.0001, "%.1f Hz; dB, the documented effect of regularisation", f)
		case above > 0 && above < 150:
			require.InDelta(t, 0.5+0.5*math.Cos(math.Pi*above/200), gain, 0.01, "%.1f Hz above; little is left of the sweep, which regularisation shows", above)
		case above > 200:
			require.InDelta(t, 0, gain, 1e-12, "%.1f Hz above; rounding", above)
		}
	}
}
