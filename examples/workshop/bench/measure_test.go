package bench

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
)

var shared = New()

func measure(t *testing.T, change func(s *Settings)) *Result {
	t.Helper()
	s := Default()
	change(&s)
	r, err := shared.Measure(context.Background(), s)
	require.NoError(t, err)
	return r
}

// The truth is the analytic response of the simulated pair, which no measurement
// enters.
func TestMeasuredAgainstTruth(t *testing.T) {
	race.Skip(t)
	for _, test := range []struct {
		name   string
		change func(s *Settings)
		rms    float64 // dB: what the noise and the ends of the sweep leave
	}{
		{"nothing wrong, not smoothed", func(s *Settings) { s.Smoothing = 0 }, 0.01},
		{"short sweep", func(s *Settings) { s.Smoothing, s.Duration = 0, 0.35 }, 0.05},
		{"drift taken out", func(s *Settings) { s.Smoothing, s.Duration, s.Drift = 0, 0.35, 200 }, 0.05},
		{"drift left in: the level does not mind", func(s *Settings) { s.Smoothing, s.Duration, s.Drift, s.Clock = 0, 0.35, 200, 0 }, 0.05},
		{"reflection outside the window", func(s *Settings) { s.Smoothing, s.Duration, s.Reflection, s.Delay, s.After = 0, 0.35, -10, 20, 15 }, 0.15},
	} {
		t.Run(test.name, func(t *testing.T) {
			r := measure(t, test.change)
			require.NoError(t, r.Problem)
			assert.Less(t, r.Error.RMS.Value, test.rms)
		})
	}
}

// A reflection of gain g makes the response ripple between 1+g and 1−g, a crest
// every 1/delay.
func TestReflectionIsACombFilter(t *testing.T) {
	r := measure(t, func(s *Settings) { s.Smoothing, s.Duration, s.Reflection, s.Delay = 0, 0.7, -10, 2 })
	g := math.Pow(10, -10.0/20)
	for _, test := range []struct{ f, gain float64 }{{500, 1 + g}, {750, 1 - g}, {1000, 1 + g}, {1250, 1 - g}, {1125, math.Sqrt(1 + g*g)}} {
		assert.InDelta(t, 20*math.Log10(test.gain), r.Error.Curve.At(test.f), 0.05, "%v Hz; read between points of 1/96 octave", test.f)
	}
}

func TestClockDriftIsFound(t *testing.T) {
	for _, drift := range []float64{-200, 10} {
		r := measure(t, func(s *Settings) { s.Drift, s.Duration = drift, 0.35 })
		assert.InDelta(t, drift, r.session.through[0].clock.Drift, 0.05, "ppm: 2 ns over the stimulus, well above the noise's uncertainty")
	}
}

// Noise of ten times the power lowers the ratio by 10 dB, and pink noise lowers it equally in every
// octave.
func TestMarginFollowsTheNoise(t *testing.T) {
	loud, soft := measure(t, func(s *Settings) { s.Noise = -40 }), measure(t, func(s *Settings) { s.Noise = -50 })
	for i, m := range loud.SNR {
		assert.InDelta(t, 10, soft.SNR[i].Level-m.Level, 0.2, "%v Hz: the interface's noise adds a little", m.Nominal)
	}
	for _, m := range loud.SNR[1:9] {
		assert.InDelta(t, loud.SNR[5].Level, m.Level, 4, "%v Hz: the pair's own response is included, and the bass has few bins", m.Nominal)
	}
}

func TestHarmonicsAreTheOnesSet(t *testing.T) {
	r := measure(t, func(s *Settings) { s.Second, s.Third, s.Noise = -40, -50, -100 })
	require.NotNil(t, r.Harmonics)
	for _, f := range []float64{100, 1000, 4000} {
		assert.InDelta(t, r.TrueHarmonic(2, f), r.Harmonics.Harmonic(2, f).AsRead, 0.5, "2nd at %v Hz", f)
		assert.InDelta(t, r.TrueHarmonic(3, f), r.Harmonics.Harmonic(3, f).AsRead, 1, "3rd at %v Hz", f)
	}
	assert.InDelta(t, -40, r.TrueHarmonic(2, 500), 1, "the level that was set; the pair's response is flat there")
}

func TestRemarksNameWhatIsWrong(t *testing.T) {
	race.Skip(t)
	for _, test := range []struct {
		topic  string
		change func(s *Settings)
	}{
		{"Interface", func(s *Settings) { s.Direct = 0 }},
		{"Window after", func(s *Settings) { s.After = 5 }},
		{"Smoothing", func(s *Settings) { s.Smoothing = 1 }},
		{"Harmonics", func(s *Settings) { s.Duration = 0.35 }},
		{"Noise", func(s *Settings) { s.Noise = -25 }},
		{"Clock", func(s *Settings) { s.Drift, s.Clock = 100, 0 }},
		{"Reflection", func(s *Settings) { s.Reflection = -6 }},
		{"Window before", func(s *Settings) { s.Before, s.Second = 150, -20 }},
		{"Seatings", func(s *Settings) { s.Spread = 2 }},
		{"Distortion", func(s *Settings) { s.Second, s.Noise = -80, -40 }},
		{"Clipping", func(s *Settings) { s.Level = 0 }},
		{"No response", func(s *Settings) { s.Level, s.Noise = -60, -20 }},
	} {
		t.Run(test.topic, func(t *testing.T) {
			r := measure(t, func(s *Settings) {
				s.Duration = 0.35
				test.change(s)
			})
			assert.Contains(t, wrong(r), test.topic)
		})
	}
	assert.Empty(t, wrong(measure(t, func(*Settings) {})), "nothing is wrong at the beginning")
}

func wrong(r *Result) []string {
	var topics []string
	for _, m := range r.Remarks() {
		if m.Wrong {
			topics = append(topics, m.Topic)
		}
	}
	return topics
}

// Every end of every range is measured without a panic, and says something: the time of the
// analysis alone, and of a recording with its analysis.
func TestEndsOfTheRanges(t *testing.T) {
	long.Skip(t)
	low, high := Default(), Default()
	for _, q := range Quantities {
		*q.field(&low), *q.field(&high) = q.Min, q.Max
	}
	low.Duration, high.Duration = 0.35, 0.35 // the soonest done
	loud, lost := low, high
	loud.Level, lost.Level = 0, -60
	settings := []Settings{low, high, loud, lost}
	for _, q := range Groups[3].Quantities[1:] {
		for _, v := range []float64{q.Min, q.Max} {
			s := Default()
			s.Duration = 0.35
			*q.field(&s) = v
			settings = append(settings, s)
		}
	}
	for _, s := range settings {
		r, err := shared.Measure(context.Background(), s)
		require.NoError(t, err)
		assert.NotEmpty(t, r.Headline(), "%+v", s)
		for _, m := range r.Remarks() {
			assert.NotContains(t, m.What, "NaN", "%+v", s)
		}
	}
}

func TestSettingsOutOfRange(t *testing.T) {
	s := Default()
	for _, q := range Quantities {
		for _, text := range []string{"", "x", "1e9", "-1e9", "NaN", "Inf", "none of these"} {
			var refused *RangeError
			require.ErrorAs(t, q.Set(&s, text), &refused, "%s %q", q.Name, text)
			assert.Equal(t, q.Name, refused.Quantity.Name)
		}
		assert.Equal(t, q.None, q.Set(&s, "none") == nil, q.Name)
		s = Default()
	}
	s.Seatings = 1000
	_, err := shared.Measure(context.Background(), s)
	require.EqualError(t, err, `bench: seatings: "1000" cannot be set; give a number from 1 to 4`)
}

func TestMeasureAsksTheContextFirst(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := shared.Measure(ctx, Default())
	require.ErrorIs(t, err, context.Canceled)
}
