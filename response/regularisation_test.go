package response

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/sweep"
)

// S conj(S) / (|S|² + ε) falls short of 1 by ε / (|S|² + ε). In the band, where ε falls as the
// spectrum does, that is a millionth; it is more where the sweep has less power than at its
// beginning.
func TestDivisionGivesWayAtAMillionthOfTheSweepsPower(t *testing.T) {
	s, err := sweep.New(sweep.Config{Duration: time.Second, Start: 1000})
	require.NoError(t, err)
	d, err := NewDeconvolver(s, DeconvolverConfig{})
	require.NoError(t, err)
	lacks := func(f float64) float64 {
		k := int(math.Round(f / 48000 * float64(d.plan.Len())))
		return 1 - real(d.played[k]*d.divide[k])
	}
	for _, f := range []float64{2000, 5000, 12000} {
		assert.InEpsilon(t, 1e-6, lacks(f), 0.05, "%v Hz; the spectrum of a sweep that ends ripples", f)
	}
	var sum float64 // the spectrum at 0 Hz
	for _, v := range s.Samples() {
		sum += v
	}
	epsilon := 1e-6 * math.Pow(s.SpectrumLevel(1000), 2)
	assert.InEpsilon(t, epsilon/(sum*sum+epsilon), lacks(0), 1e-9, "rounding")
}

// Power k in bins 2 to 5: (2/2 + 3/3 + 4/4 + 5/5) / (1/2 + 1/3 + 1/4 + 1/5).
func TestPowerOfASpectrumByHand(t *testing.T) {
	s, err := sweep.New(sweep.Config{Duration: time.Second})
	require.NoError(t, err)
	d, err := NewDeconvolver(s, DeconvolverConfig{})
	require.NoError(t, err)
	spectrum := make([]complex128, d.plan.Bins())
	for k := range spectrum {
		spectrum[k] = complex(0.6, -0.8) * complex(math.Sqrt(float64(k)), 0)
	}
	bin := 48000 / float64(d.plan.Len())
	assert.InEpsilon(t, 240/77.0, d.power(spectrum, 1.5*bin, 5.5*bin), 1e-12, "rounding")
}
