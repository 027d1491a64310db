package sweep_test

import (
	"math"
	"testing"
	"time"

	"example.com/earnest/sweep"

	"github.com/stretchr/testify/assert"
)

var bands = map[string]sweep.Config{
	"20 Hz to 20 kHz in 6 s":    {Duration: 6 * time.Second},
	"10 Hz to 12 kHz at 96 kHz": {Start: 10, Stop: 12000, Duration: 10 * time.Second, SampleRate: 96000},
	"odd frequencies":           {Start: 33.3, Stop: 7777.7, Duration: 2500 * time.Millisecond, SampleRate: 44100},
	"slow and high":             {Start: 1000, Stop: 96000, Duration: 30 * time.Second, SampleRate: 192000},
}

// Novak, Lotton, Simon, J. Audio Eng. Soc. 63(10), 2015: f1 L is whole, and so
// every harmonic starts in phase.
func TestSweepIsSynchronised(t *testing.T) {
	for name, c := range bands {
		t.Run(name, func(t *testing.T) {
			s := mustNew(t, c)
			turns := s.Start() * s.TimeConstant()
			assert.InDelta(t, math.Round(turns), turns, 1e-9, "double precision of a division and a product")
			assert.InDelta(t, c.Duration.Seconds(), s.Duration(),
				math.Log(s.Stop()/s.Start())/s.Start()/2, "the nearest that is synchronised")
			for n := 2; n <= 5; n++ {
				// The sweep, L ln n earlier, is its own n-th harmonic: n φ(t) = φ(t + L ln n)
				// except for whole turns.
				at := 0.3 * s.Duration()
				turn := (float64(n)*s.PhaseAt(at) - s.PhaseAt(at+s.HarmonicAdvance(n))) / (2 * math.Pi)
				assert.InDelta(t, math.Round(turn), turn, 1e-7, "harmonic %d; 10^5 turns in double precision", n)
			}
		})
	}
}

func TestFrequencyGrowsExponentially(t *testing.T) {
	for name, c := range bands {
		t.Run(name, func(t *testing.T) {
			s := mustNew(t, c)
			assert.InEpsilon(t, s.Start(), s.FrequencyAt(0), 1e-12, "double precision")
			assert.InEpsilon(t, s.Stop(), s.FrequencyAt(s.Duration()), 1e-12, "double precision")
			octave := s.TimeConstant() * math.Ln2
			for _, at := range []float64{0, 0.1, 0.37, 0.8} {
				at *= s.Duration() - octave
				f := s.FrequencyAt(at)
				assert.InEpsilon(t, 2*f, s.FrequencyAt(at+octave), 1e-12, "an octave takes L ln 2; double precision")
				assert.InDelta(t, at, s.TimeAt(f), 1e-12*s.Duration(), "one undoes the other; double precision")
				// Frequency is the slope of the phase, by a central difference.
				const h = 1e-6
				slope := (s.PhaseAt(at+2*h) - s.PhaseAt(at)) / (2 * h) / (2 * math.Pi)
				assert.InEpsilon(t, s.FrequencyAt(at+h), slope, 1e-4, "cancellation of 10^5 rad over 2 µs")
			}
		})
	}
}

func TestOutsideTheSweepNothingIsKnown(t *testing.T) {
	s := mustNew(t, sweep.Config{})
	for name, v := range map[string]float64{
		"frequency before": s.FrequencyAt(-1e-9),
		"frequency after":  s.FrequencyAt(s.Duration() + 1e-9),
		"frequency never":  s.FrequencyAt(math.NaN()),
		"phase before":     s.PhaseAt(-1e-9),
		"phase after":      s.PhaseAt(s.Duration() + 1e-9),
		"phase never":      s.PhaseAt(math.NaN()),
		"time below":       s.TimeAt(19.99),
		"time above":       s.TimeAt(20001),
		"time of nothing":  s.TimeAt(math.NaN()),
	} {
		assert.True(t, math.IsNaN(v), "%s: %v", name, v)
	}
	assert.InDelta(t, 2*math.Pi*s.TimeConstant()*(s.Stop()-s.Start()), s.PhaseAt(s.Duration()), 1e-6, "its last moment belongs to it; 3e5 rad in double precision")
}

// Farina 2000: the n-th harmonic reaches each frequency L ln n before the
// sweep does.
func TestHarmonicAdvanceIsWhenTheHarmonicPassesTheSameFrequency(t *testing.T) {
	for name, c := range bands {
		t.Run(name, func(t *testing.T) {
			s := mustNew(t, c)
			assert.Zero(t, s.HarmonicAdvance(1))
			for n := 2; n <= 7; n++ {
				f := 0.9 * s.Stop()
				want := s.TimeAt(f) - s.TimeAt(f/float64(n))
				assert.InDelta(t, want, s.HarmonicAdvance(n), 1e-9, "harmonic %d; double precision over 30 s", n)
			}
		})
	}
	assert.Panics(t, func() { mustNew(t, sweep.Config{}).HarmonicAdvance(0) })
}
