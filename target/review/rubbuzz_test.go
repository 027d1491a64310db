package review_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/sweep"
)

// TestClicksAreCountedOverTheSeatings adds one click a period to the left sweep: about 100 Hz in
// every seating, louder each time, and about 400 Hz in the second alone. A click of a sample of
// height a has the rms a/√P over a period of P samples, of which a share of 1 − 10.65 f/24000 lies
// above the filter's edge.
func TestClicksAreCountedOverTheSeatings(t *testing.T) {
	long.Skip(t)
	st, _ := asking()
	start := st.Sweeps(sweep.Left)[0].Start + 612 // latency of the rig
	heights := []float64{0.03, 0.06, 0.12}        // re the fundamental's peak
	click := func(x []float64, f, height float64) {
		from := start + int(st.Sweep().TimeAt(f/1.3)*48000)
		to := start + int(st.Sweep().TimeAt(f*1.3)*48000)
		var top float64
		for _, v := range x[start+int(st.Sweep().TimeAt(f/1.02)*48000) : start+int(st.Sweep().TimeAt(f*1.02)*48000)] {
			top = max(top, math.Abs(v))
		}
		for at := float64(from); int(at) < to; {
			x[int(at)] += height * top
			at += 48000 / st.Sweep().FrequencyAt((at-float64(start))/48000)
		}
	}
	_, r, err := cutReview(t, [3]int{}, false, func(i int, x [][]float64) {
		click(x[0], 100, heights[i])
		if i == 1 {
			click(x[0], 400, 0.1)
		}
	})
	require.NoError(t, err)
	level := func(height, f float64) float64 {
		return 10 * math.Log10(2*height*height*f/48000*(1-10.65*f/24000))
	}
	found := 0
	for _, one := range r.Left.RubBuzz {
		switch {
		case one.Frequency > 95 && one.Frequency < 105:
			found++
			assert.Equal(t, []int{3, 3}, []int{one.Rattles, one.Seatings})
			// A frame holds two or three of the clicks, and three frames have another number.
			assert.InDelta(t, level((heights[0]+heights[1]+heights[2])/3, one.Frequency), one.Level.Value, 1)
			// The standard deviation of three amplitudes re their mean, over √3 (JCGM 100:2008,
			// 4.2.3).
			relative := math.Sqrt((0.04*0.04+0.01*0.01+0.05*0.05)/2) / 0.07 / math.Sqrt(3)
			assert.InEpsilon(t, 20/math.Ln10*relative, math.Sqrt(one.Level.Budget[0].Variance()), 0.1)
			assert.Equal(t, 2.0, one.Level.Budget[0].DegreesOfFreedom)
			assert.Greater(t, one.Crest, 14.0)
		case one.Frequency > 390 && one.Frequency < 410:
			found++
			assert.Equal(t, []int{1, 3}, []int{one.Rattles, one.Seatings})
			assert.False(t, one.Level.Known(), "it is below the floor in the others")
			assert.Greater(t, one.Level.Bound, level(0.1/3, one.Frequency), "which holds the mean")
		case one.Frequency > 150 && one.Frequency < 250:
			assert.Zero(t, one.Rattles)
		}
	}
	assert.Equal(t, 2, found)
	for _, one := range r.Right.RubBuzz {
		assert.Zero(t, one.Rattles)
	}
}
