package review_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/target/review"
)

// gated mutes the samples that come more than 20 ms after the last one above a level, as a gate
// does.
func gated(x []float64, rate int, level float64) []float64 {
	out, open := make([]float64, len(x)), 0
	for i, v := range x {
		if math.Abs(v) > level {
			open = i + rate/50
		}
		if i < open {
			out[i] = v
		}
	}
	return out
}

// A gate leaves silence without noise. It is named, and no floor of zero is made of it: the
// distortion that noise under the sweep would pretend is not known.
func TestAGateMakesNoFloor(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	measure := func(spoil func(i int, r *capture.Recording)) *review.Results {
		p, err := s.seated(s.bench(), spoil)
		require.NoError(t, err)
		r, err := p.Measure()
		require.NoError(t, err)
		return r
	}
	r := measure(func(_ int, r *capture.Recording) {
		for k, x := range r.Channels {
			r.Channels[k] = gated(x, r.SampleRate, 0.002)
		}
	})
	named := found(r.Findings, fitness.LevelControl)
	require.Len(t, named, 6, "each channel of each seating")
	assert.Equal(t, response.Warning, named[0].Severity, "%v", named[0])
	thd := r.Left.THD(1000)
	assert.True(t, math.IsNaN(thd.AsRead), "%% of the gated pair: %v", thd)
	assert.InDelta(t, 0.1, measure(asItIs).Left.THD(1000).AsRead, 0.03, "%, 60 dB below: as the pair is made")
}
