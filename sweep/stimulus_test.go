package sweep_test

import (
	"math"
	"testing"
	"time"

	"example.com/earnest/sweep"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func mustStimulus(t testing.TB, c sweep.StimulusConfig) *sweep.Stimulus {
	t.Helper()
	st, err := sweep.NewStimulus(c)
	require.NoError(t, err)
	return st
}

func kinds(st *sweep.Stimulus) []sweep.Kind {
	var k []sweep.Kind
	for _, s := range st.Segments() {
		k = append(k, s.Kind)
	}
	return k
}

func TestStimulusLayout(t *testing.T) {
	const silence, mark, left, right = sweep.Silence, sweep.Mark, sweep.LeftSweep, sweep.RightSweep
	short := mustNew(t, sweep.Config{Duration: time.Second})
	for name, c := range map[string]struct {
		config sweep.StimulusConfig
		want   []sweep.Kind
		// seconds
		silence, gap float64
	}{
		"unless told": {
			sweep.StimulusConfig{Sweep: short},
			[]sweep.Kind{silence, mark, silence, left, silence, right, silence, mark, silence}, 2, 1.5,
		},
		"without marks": {
			sweep.StimulusConfig{Sweep: short, Unmarked: true},
			[]sweep.Kind{silence, left, silence, right, silence, silence}, 2, 1.5,
		},
		"each side twice": {
			sweep.StimulusConfig{Sweep: short, Repeats: 2, Silence: 500 * time.Millisecond, Gap: 300 * time.Millisecond},
			[]sweep.Kind{silence, mark, silence, left, silence, left, silence, right, silence, right, silence, mark, silence}, 0.5, 0.3,
		},
	} {
		t.Run(name, func(t *testing.T) {
			st := mustStimulus(t, c.config)
			assert.Same(t, short, st.Sweep())
			assert.Equal(t, c.want, kinds(st))
			at := 0
			segments := st.Segments()
			for i, s := range segments {
				assert.Equal(t, at, s.Start, "segment %d begins where the one before ended", i)
				at += s.Len
				wanted := map[sweep.Kind]int{mark: len(short.Mark()), left: short.Len(), right: short.Len(), silence: int(48000 * c.gap)}[s.Kind]
				if i == 0 || i == len(segments)-1 {
					wanted = int(48000 * c.silence)
				}
				assert.Equal(t, wanted, s.Len, "segment %d, %v", i, s.Kind)
			}
			assert.Equal(t, at, st.Len(), "the segments cover everything")
			assert.InDelta(t, float64(at)/48000, st.Duration(), 1e-12, "double precision")
		})
	}
}

func TestStimulusChannels(t *testing.T) {
	s := mustNew(t, sweep.Config{Duration: time.Second, Level: -12})
	st := mustStimulus(t, sweep.StimulusConfig{Sweep: s, Repeats: 2})
	channels := st.Channels()
	require.Len(t, channels, 2)
	blank := make([]float64, st.Len())
	for _, segment := range st.Segments() {
		want := [2][]float64{blank[:segment.Len], blank[:segment.Len]}
		switch segment.Kind {
		case sweep.LeftSweep:
			want[0] = s.Samples()
		case sweep.RightSweep:
			want[1] = s.Samples()
		case sweep.Mark:
			want = [2][]float64{s.Mark(), s.Mark()}
		}
		for side := range channels {
			require.Len(t, channels[side], st.Len())
			require.Equal(t, want[side], channels[side][segment.Start:segment.Start+segment.Len], "%v, channel %d", segment.Kind, side)
		}
	}
}

func TestFindReturnsOneKind(t *testing.T) {
	st := mustStimulus(t, sweep.StimulusConfig{Sweep: mustNew(t, sweep.Config{Duration: time.Second}), Repeats: 3, Unmarked: true})
	assert.Len(t, st.Find(sweep.LeftSweep), 3)
	assert.Len(t, st.Find(sweep.RightSweep), 3)
	assert.Empty(t, st.Find(sweep.Mark))
	for _, s := range st.Find(sweep.RightSweep) {
		assert.Equal(t, sweep.RightSweep, s.Kind)
	}
	segments := st.Segments()
	segments[0].Kind = sweep.RightSweep
	assert.Len(t, st.Find(sweep.RightSweep), 3, "the slice was the caller's")
}

func TestSweepsAreThoseOfOneSide(t *testing.T) {
	st := mustStimulus(t, sweep.StimulusConfig{Sweep: mustNew(t, sweep.Config{Duration: time.Second}), Repeats: 2})
	assert.Equal(t, st.Find(sweep.LeftSweep), st.Sweeps(sweep.Left))
	assert.Equal(t, st.Find(sweep.RightSweep), st.Sweeps(sweep.Right))
	assert.Panics(t, func() { st.Sweeps(0) })
	assert.Equal(t, "left", sweep.Left.String())
	assert.Equal(t, "right", sweep.Right.String())
	assert.Equal(t, "neither side", sweep.Side(0).String())
}

func TestKindInWords(t *testing.T) {
	assert.Equal(t, "silence", sweep.Silence.String())
	assert.Equal(t, "timing mark", sweep.Mark.String())
	assert.Equal(t, "sweep, left", sweep.LeftSweep.String())
	assert.Equal(t, "sweep, right", sweep.RightSweep.String())
	assert.Equal(t, "Kind(9)", sweep.Kind(9).String())
}

func TestImpossibleStimuli(t *testing.T) {
	s := mustNew(t, sweep.Config{})
	for name, c := range map[string]struct {
		config sweep.StimulusConfig
		says   string
	}{
		"no sweep":              {sweep.StimulusConfig{}, "needs a sweep; make one with New"},
		"short silence":         {sweep.StimulusConfig{Sweep: s, Silence: 99 * time.Millisecond}, "99ms of silence is too short"},
		"negative silence":      {sweep.StimulusConfig{Sweep: s, Silence: -time.Second}, "-1s of silence"},
		"short gap":             {sweep.StimulusConfig{Sweep: s, Gap: time.Millisecond}, "a gap of 1ms is too short"},
		"negative gap":          {sweep.StimulusConfig{Sweep: s, Gap: -1}, "a gap of -1ns"},
		"negative repeats":      {sweep.StimulusConfig{Sweep: s, Repeats: -1}, "-1 repeats; choose 1 to 100"},
		"too many repeats":      {sweep.StimulusConfig{Sweep: s, Repeats: 101}, "101 repeats"},
		"hours of silence":      {sweep.StimulusConfig{Sweep: s, Silence: 2 * time.Hour}, "would last more than 1h0m0s"},
		"two halves of an hour": {sweep.StimulusConfig{Sweep: s, Silence: 30 * time.Minute}, "would last more than"},
		"endless silence":       {sweep.StimulusConfig{Sweep: s, Silence: math.MaxInt64}, "would last more than"},
		"endless gap":           {sweep.StimulusConfig{Sweep: s, Gap: math.MaxInt64}, "would last more than"},
		"many and long sweeps":  {sweep.StimulusConfig{Sweep: mustNew(t, sweep.Config{Duration: 5 * time.Minute}), Repeats: 10}, "would last more than"},
	} {
		t.Run(name, func(t *testing.T) {
			st, err := sweep.NewStimulus(c.config)
			require.ErrorContains(t, err, c.says)
			assert.ErrorContains(t, err, "sweep: ")
			assert.Nil(t, st)
		})
	}
}

func BenchmarkChannels(b *testing.B) {
	st := mustStimulus(b, sweep.StimulusConfig{Sweep: mustNew(b, sweep.Config{})})
	b.ReportAllocs()
	for b.Loop() {
		st.Channels()
	}
}
