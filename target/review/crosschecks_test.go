package review_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/target/review"
)

// found are the findings of a kind.
func found(findings []response.Finding, kind response.FindingKind) []response.Finding {
	return slices.DeleteFunc(slices.Clone(findings), func(f response.Finding) bool { return f.Kind != kind })
}

func times(x []float64, gain float64) []float64 {
	y := slices.Clone(x)
	for i := range y {
		y[i] *= gain
	}
	return y
}

// An equaliser left on in the direct recording is questioned from 1 dB on, and named with its
// place.
func TestAnEqualiserInTheDirectRecording(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	for _, row := range []struct {
		gain  float64
		found bool
	}{{0, false}, {0.5, false}, {3, true}, {-5.6, true}} {
		direct := s.direct()
		direct.Channels = [][]float64{slices.Clone(direct.Channels[0]), slices.Clone(direct.Channels[1])}
		biquad.New(biquad.Peaking, 3000, 1.4, row.gain, 48000).Apply(direct.Channels[0])
		b, err := review.New(s.config)
		require.NoError(t, err)
		findings, err := b.Direct(review.Both(direct))
		require.NoError(t, err)
		of := found(findings, review.DirectNotFlat)
		if !row.found {
			assert.Empty(t, of, "%v dB", row.gain)
			continue
		}
		require.Len(t, of, 1, "%v dB, on the left side", row.gain)
		assert.InDelta(t, row.gain, of[0].Figures["deviation"].Value, 0.2, "dB; the interface's own is in it")
		assert.InEpsilon(t, 3000, of[0].Figures["at"].Value, 0.05, "Hz; points 1/48 octave apart, about a flat top")
	}
}

// A recording through headphones that is named as direct is recognised by its response and
// distortion. A session with both files exchanged is recognised too, and is not measured.
func TestThroughNamedAsDirect(t *testing.T) {
	race.Skip(t)
	s := simulate(t)
	b, err := review.New(s.config)
	require.NoError(t, err)
	findings, err := b.Direct(review.Both(s.through(0)))
	require.NoError(t, err)
	doubts := found(findings, review.NotDirect)
	assert.Len(t, doubts, 2, "both sides")
	assert.Empty(t, found(findings, review.DirectNotFlat), "a cause is reported once")

	pair := b.Pair(review.About{Name: "turned round"})
	_, err = pair.Seat(review.Seating{Name: "first", Channels: review.Both(s.direct())})
	require.NoError(t, err)
	_, err = pair.Measure()
	require.ErrorIs(t, err, fitness.ErrUnfit)
	assert.ErrorContains(t, err, "the two are exchanged")
}

// A recording through headphones that do not distort may be one behind an equaliser, so it is asked
// whether it was exchanged; not so of an equaliser that ripples as little as an interface.
func TestThroughWithoutDistortionNamedAsDirect(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	for _, row := range []struct {
		name  string
		asked bool
		said  func() [][]float64
	}{
		{"headphones that do not distort", true, func() [][]float64 {
			h := s.pair
			h.Left.Distortion, h.Right.Distortion = rig.Polynomial{}, rig.Polynomial{}
			return s.rig.Through(h, 0, s.stimulus.Channels())
		}},
		{"a tone control", false, func() [][]float64 {
			x := s.direct().Channels
			for k := range x {
				x[k] = slices.Clone(x[k])
				biquad.New(biquad.LowShelf, 100, 0.5, 2, 48000).Apply(x[k])
			}
			return x
		}},
	} {
		t.Run(row.name, func(t *testing.T) {
			b, err := review.New(s.config)
			require.NoError(t, err)
			findings, err := b.Direct(review.Both(s.recording("direct.wav", row.said())))
			require.NoError(t, err)
			of := found(findings, review.DirectNotFlat)
			require.Len(t, of, 2, "both sides: %v", findings)
			assert.Equal(t, row.asked, strings.Contains(of[0].What, "are direct and through exchanged?"), of[0].What)
		})
	}
}

// A gain that was turned between seatings, or differs between the sides, is reported as a gain.
func TestAnotherGain(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	double := func(r *capture.Recording, sides ...int) {
		for _, k := range sides {
			r.Channels[k] = times(r.Channels[k], 0.5)
		}
	}
	measure := func(spoil func(i int, r *capture.Recording)) *review.Results {
		p, err := s.seated(s.bench(), spoil)
		require.NoError(t, err)
		r, err := p.Measure()
		require.NoError(t, err)
		return r
	}
	assert.Empty(t, found(measure(asItIs).Findings, review.AnotherGain))

	one := found(measure(func(i int, r *capture.Recording) {
		if i == 1 {
			double(r, 0, 1)
		}
	}).Findings, review.AnotherGain)
	require.Len(t, one, 2, "the second seating, each side")
	for _, f := range one {
		assert.Equal(t, "second.wav", f.Recording)
		assert.InDelta(t, -6.02, f.Figures["gain"].Value, 1, "dB: half the amplitude; a seating changes the level by up to 1 dB")
	}

	side := found(measure(func(_ int, r *capture.Recording) { double(r, 1) }).Findings, review.AnotherGain)
	require.Len(t, side, 1)
	assert.Contains(t, side[0].What, "left is ")
	truth := s.truth(rig.Left, 1000, 0, 1, 2) - s.truth(rig.Right, 1000, 0, 1, 2)
	assert.InDelta(t, 6.02+truth, side[0].Figures["gain"].Value, 0.6, "dB; half of it, and the difference of the sides")
}

// A right cup with reversed polarity in every seating is found, even if each side has its own file.
func TestReversedInEverySeating(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	p := s.bench().Pair(review.About{Name: s.pair.Name})
	for i := range 2 {
		r := s.through(i)
		left, right := s.recording("left.wav", r.Channels[:1]), s.recording("right.wav", [][]float64{times(r.Channels[1], -1)})
		_, err := p.Seat(review.Seating{Channels: review.Channels{Left: review.Channel{Recording: left}, Right: review.Channel{Recording: right}}})
		require.NoError(t, err)
	}
	r, err := p.Measure()
	require.NoError(t, err)
	assert.Len(t, found(r.Findings, fitness.OppositePolarity), 1)
	assert.InDelta(t, -1, r.Polarity.Value, 0.4, "two drivers of one model, one turned")
}

// One play of one channel says nothing about how the sides differ.
func TestOnePlayForBothSides(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	mono := s.recording("mono.wav", s.through(0).Channels[:1])
	p := s.bench().Pair(review.About{Name: s.pair.Name})
	_, err := p.Seat(review.Seating{Channels: review.Both(mono)})
	require.NoError(t, err)
	r, err := p.Measure()
	require.NoError(t, err)
	require.Len(t, found(r.Findings, review.OnePlayTwice), 1)
	assert.Empty(t, r.Difference.Level)
	require.NoError(t, r.Judge(review.Criteria{}))
	assert.True(t, r.Judgement.Difference == nil, "not known")
}

// Named for two seatings, one recording would narrow the interval.
func TestOneRecordingForTwoSeatings(t *testing.T) {
	race.Skip(t)
	s := simulate(t)
	p := s.bench().Pair(review.About{Name: s.pair.Name})
	r := s.through(0)
	_, err := p.Seat(review.Seating{Channels: review.Both(r)})
	require.NoError(t, err)
	findings, err := p.Seat(review.Seating{Channels: review.Both(r)}, review.Seating{Channels: review.Both(s.through(1))})
	require.ErrorIs(t, err, fitness.ErrUnfit)
	assert.ErrorContains(t, err, "first.wav: seating 2, left side, is already the recording of seating 1")
	assert.Len(t, found(findings, fitness.SameRecording), 2, "each side")
	results, err := p.Measure()
	require.NoError(t, err)
	assert.Len(t, results.Left.Seatings, 2)
	assert.False(t, math.IsNaN(results.Mean.UncertaintyAt(1000)))
}

// A copy of the direct recording among the seatings is refused.
func TestTheDirectRecordingAsASeating(t *testing.T) {
	race.Skip(t)
	s := simulate(t)
	copied := s.direct()
	copied.Name = "seating.wav"
	_, err := s.bench().Pair(review.About{Name: s.pair.Name}).Seat(review.Seating{Channels: review.Both(copied)})
	require.ErrorIs(t, err, fitness.ErrUnfit)
	assert.ErrorContains(t, err, "is the same as channel 1 of direct.wav")
}

// After a direct recording that was refused, another is taken, and nothing of the first is left.
func TestAnotherDirectRecordingAfterOneWasRefused(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	b, err := review.New(s.config)
	require.NoError(t, err)
	spoilt := s.direct()
	spoilt.Channels = [][]float64{spoilt.Channels[0], rig.Clip(spoilt.Channels[1:], 12)[0]} // only the right side
	_, err = b.Direct(review.Both(spoilt))
	require.ErrorIs(t, err, fitness.ErrUnfit)
	assert.Panics(t, func() { b.Pair(review.About{}) }, "a side alone is no direct recording")
	findings, err := b.Direct(review.Both(s.direct()))
	require.NoError(t, err)
	assert.Empty(t, found(findings, fitness.SameRecording), "the left side is that of the refused one")
	p, err := s.seated(b, asItIs)
	require.NoError(t, err)
	r, err := p.Measure()
	require.NoError(t, err)
	s.checkSides(r, 0, 1, 2)
}

// Noise makes ripples too, and is no reason to doubt that a recording is direct.
func TestANoisyDirectRecordingIsNotDoubted(t *testing.T) {
	race.Skip(t)
	s := simulate(t)
	direct := s.direct()
	for k, x := range direct.Channels {
		y := slices.Clone(x)
		for i, v := range noise(uint64(k+1), 0.1, 1+len(x)/48000)[:len(x)] { // −20 dBFS, the sweep is at −15
			y[i] += v
		}
		direct.Channels[k] = y
	}
	s.config.UseUnfit = true // noise is another finding
	b, err := review.New(s.config)
	require.NoError(t, err)
	findings, err := b.Direct(review.Both(direct))
	require.NoError(t, err)
	assert.Empty(t, found(findings, review.NotDirect))
	assert.Empty(t, found(findings, review.DirectNotFlat))
}

// A limiter in the direct recording that holds the sweep at half its level does not change the
// treble but distorts each period of the bass.
func TestALimiterInTheDirectRecording(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	direct := s.direct()
	for k, x := range direct.Channels {
		y, envelope := slices.Clone(x), 0.0
		for i, v := range y {
			speed := 0.004 // 5 ms to fall
			if math.Abs(v) > envelope {
				speed = 0.02 // 1 ms to rise, so that no top is flat
			}
			envelope += speed * (math.Abs(v) - envelope)
			y[i] = v * min(1, 0.08/envelope)
		}
		direct.Channels[k] = y
	}
	for _, row := range []struct {
		direct *capture.Recording
		named  bool
	}{{direct, true}, {s.direct(), false}} {
		b, err := review.New(s.config)
		require.NoError(t, err)
		findings, _ := b.Direct(review.Both(row.direct))
		assert.Equal(t, row.named, len(found(findings, fitness.LevelControl)) > 0, "%v", findings)
	}
}
