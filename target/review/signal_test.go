package review_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
	"example.com/earnest/target/review"
)

// ownSignal is a signal defined by an importing program.
type ownSignal struct {
	samples []float64
	law     *sweep.Sweep
}

func (s ownSignal) Samples() []float64 { return s.samples }
func (s ownSignal) SampleRate() int    { return 48000 }
func (s ownSignal) Start() float64     { return 20 }
func (s ownSignal) Stop() float64      { return 20000 }
func (s ownSignal) Law() *sweep.Sweep  { return s.law }

// leftThenRight plays a signal on the left, then on the right.
func leftThenRight(t *testing.T, s sweep.Signal) *sweep.Stimulus {
	t.Helper()
	n, gap := len(s.Samples()), 72000
	st, err := sweep.Playing(s, []sweep.Segment{
		{Kind: sweep.Silence, Start: 0, Len: gap}, {Kind: sweep.LeftSweep, Start: gap, Len: n}, {Kind: sweep.Silence, Start: gap + n, Len: gap},
		{Kind: sweep.RightSweep, Start: 2*gap + n, Len: n}, {Kind: sweep.Silence, Start: 2*gap + 2*n, Len: gap},
	})
	require.NoError(t, err)
	return st
}

// The same pair on the same quiet rig is measured with signals of every kind. All give the result
// of the project's own sweep.
func TestTheBenchTakesAnySignal(t *testing.T) {
	long.Skip(t)
	measure := func(st *sweep.Stimulus, change func(*rig.Headphones)) *review.Results {
		s := simulate(t)
		change(&s.pair)
		s.rig.Noise, s.rig.Room, s.rig.Hum, s.rig.Drift, s.rig.DC = rig.Noise{}, rig.Noise{}, rig.Hum{}, 0, 0
		s.stimulus, s.config.Stimulus = st, st
		b := s.bench()
		p := b.Pair(review.About{Name: s.pair.Name})
		_, err := p.Seat(review.Seating{Channels: review.Both(s.through(0))})
		require.NoError(t, err)
		r, err := p.Measure()
		require.NoError(t, err)
		return r
	}
	sweepOf := func(c sweep.Config) *sweep.Sweep {
		s, err := sweep.New(c)
		require.NoError(t, err)
		return s
	}
	own, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: sweepOf(sweep.Config{Duration: 3 * time.Second, Level: -12})})
	require.NoError(t, err)
	asItIs := func(*rig.Headphones) {}
	want := measure(own, asItIs)

	other := sweepOf(sweep.Config{TimeConstant: 3.3 / math.Log(1000), Phase: 134 * math.Pi / 180, FadeIn: -1, FadeOut: -1, Level: -12})
	linear, noise := make([]float64, 4*48000), make([]float64, 8*48000)
	for i := range linear {
		at := float64(i) / 48000
		linear[i] = 0.25 * math.Sin(2*math.Pi*(20*at+(20000.0-20)/8*at*at))
	}
	draw := rand.New(rand.NewPCG(1, 2))
	for i := range noise {
		noise[i] = 0.05 * draw.NormFloat64()
	}
	if long.Enabled() {
		// Of a pair that does not compress the response is the same.
		straight := func(h *rig.Headphones) { h.Left.Distortion, h.Right.Distortion = rig.Polynomial{}, rig.Polynomial{} }
		one, other := measure(own, straight), measure(leftThenRight(t, ownSignal{linear, nil}), straight)
		for _, f := range response.LogGrid(25, 18000, 24) {
			assert.InDelta(t, one.Mean.At(f), other.Mean.At(f), 0.02, "dB at %.0f Hz; the required accuracy", f)
		}
	}
	for name, c := range map[string]struct {
		signal sweep.Signal
		within float64 // dB
	}{
		"an exponential sweep of another program": {ownSignal{other.Samples(), other}, 0.02},
		"a linear sweep": {ownSignal{linear, nil}, 0.06}, // bass is compressed less, since the sweep passes it sooner
		"white noise":    {ownSignal{noise, nil}, 0.1},   // the same, as noise
	} {
		got, want := measure(leftThenRight(t, c.signal), asItIs), want
		worst := 0.0
		for k, side := range got.Sides() {
			for _, f := range response.LogGrid(25, 18000, 24) {
				worst = max(worst, math.Abs(side.Response().At(f)-want.Sides()[k].Response().At(f)))
			}
		}
		assert.Less(t, worst, c.within, name)
		harmonics := got.Left.Seatings[0].Harmonics
		if c.signal.Law() == nil {
			assert.Empty(t, harmonics.Orders, "%s: not known with this signal", name)
			assert.False(t, got.Left.THD(1000).Known(), name)
			continue
		}
		for _, f := range []float64{100, 300, 1000} {
			for n := 2; n <= 3; n++ {
				reference := want.Left.Seatings[0].Harmonics.Harmonic(n, f)
				assert.InDelta(t, reference.AsRead, harmonics.Harmonic(n, f).AsRead, 0.2, "%s: harmonic %d at %g Hz", name, n, f)
			}
		}
	}
}

// Noise recorded on another clock does not follow the played signal, while a sweep does.
func TestNoiseOnAnotherClockIsNamed(t *testing.T) {
	long.Skip(t)
	draw, noise := rand.New(rand.NewPCG(3, 2)), make([]float64, 6*48000)
	for i := range noise {
		noise[i] = 0.05 * draw.NormFloat64()
	}
	for drift, named := range map[float64]bool{0: false, 60: true} {
		s := simulate(t)
		s.rig.Drift = drift
		s.stimulus = leftThenRight(t, ownSignal{noise, nil})
		s.config.Stimulus = s.stimulus
		b, err := review.New(s.config)
		require.NoError(t, err)
		findings, err := b.Direct(review.Both(s.direct()))
		require.NoError(t, err)
		assert.Equal(t, named, len(found(findings, review.NotAsPlayed)) > 0, "%v parts per million: %v", drift, findings)
	}
}
