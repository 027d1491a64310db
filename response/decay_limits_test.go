package response

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The filter spreads half of an impulse before it. That half is kept if nothing was recorded
// before: the energy left is ½ erfc of all, as later in a response.
func TestDecayOfAnImpulseAtTheFirstSample(t *testing.T) {
	h := &Impulse{Samples: make([]float64, decayRate), SampleRate: decayRate, Valid: Band{20, 20000}}
	h.Samples[0] = 1
	d := decayAt(t, h, 1000)
	for _, level := range []float64{-0.1, -3.0103, -20, -40} {
		i, reason := d.crossing(level)
		require.Empty(t, reason)
		assert.InDelta(t, d.filterTime(level), d.timeAt(i, level), 3e-5, "%v dB; 3 %% of a period, as anywhere", level)
	}
	assert.InDelta(t, -d.filterTime(-50), d.Start, 2*d.Step, "the curve begins with the onset")
}

// The square of a Gaussian band, up to 5 σ on both sides, needs 20 σ samples a second; there are
// half as many more.
func TestSamplesOfADecayAreAsFarApartAsTheBandAllows(t *testing.T) {
	h := dying(0, nil, func(s float64) float64 { return math.Exp(-s / 0.01) })
	for _, nominal := range []float64{100, 1000, 8000} {
		d := decayAt(t, h, nominal)
		sigma := d.rate / (2 * math.Pi)
		assert.InEpsilon(t, 1/(30*sigma), d.Step, 0.1, "%v Hz; whole bins, and the next length worth transforming", nominal)
	}
}

func TestDecaysEndAtHalfTheSampleRate(t *testing.T) {
	h := dying(0, nil, func(s float64) float64 { return math.Exp(-s / 0.01) })
	h.Valid = AllFrequencies
	decays, err := h.Decays(DecayConfig{Fraction: 1, After: time.Millisecond}) // the shortest
	require.NoError(t, err)
	last := decays[len(decays)-1]
	assert.Equal(t, 31500.0, last.Band.Nominal, "22.4–44.7 kHz, which touches 24 kHz")
	assert.Contains(t, why(last.To(-20)), "beyond what the sweep excited, 0 Hz–24 kHz")
	assert.Equal(t, 1.0, decays[0].Band.Nominal, "0 Hz has no band")
}

// A curve may begin below the level that is asked for. The time is then extrapolated from its first
// two samples.
func TestDecayCrossesALevelAfterItsFirstSample(t *testing.T) {
	d := Decay{Level: []float64{-2, -4, -6}, Start: 1, Step: 0.5}
	for level, want := range map[float64]struct {
		i    int
		time float64
	}{-1: {1, 0.75}, -2: {1, 1}, -3: {1, 1.25}, -4: {1, 1.5}, -5: {2, 1.75}} {
		i, reason := d.crossing(level)
		require.Empty(t, reason)
		assert.Equal(t, want.i, i, "%v dB", level)
		assert.InDelta(t, want.time, d.timeAt(i, level), 1e-12, "%v dB; rounding", level)
	}
}
