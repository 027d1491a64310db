package sweep_test

import (
	"math"
	"testing"
	"time"

	"example.com/earnest/sweep"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestStimulusOfASignal(t *testing.T) {
	s := mustNew(t, sweep.Config{Duration: time.Second, Level: -20})
	own, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Unmarked: true})
	require.NoError(t, err)
	again, err := sweep.Playing(s, own.Segments())
	require.NoError(t, err)
	assert.Equal(t, own.Channels(), again.Channels(), "a sweep is a signal")
	assert.Equal(t, own.Len(), again.Len())
	assert.Same(t, s, again.Sweep())
	assert.Equal(t, -20.0, again.Level(), "dBFS peak")
	assert.Equal(t, sweep.Signal(s), again.Signal())
}

func TestSignalsThatCannotBePlayed(t *testing.T) {
	both := func(n int) []sweep.Segment {
		return []sweep.Segment{{Kind: sweep.LeftSweep, Len: n}, {Kind: sweep.RightSweep, Len: n}, {Kind: sweep.Silence, Start: n, Len: 10}}
	}
	for name, c := range map[string]struct {
		signal   sweep.Signal
		segments []sweep.Segment
		says     string
	}{
		"no samples":      {click{}, both(0), "a signal of 0 samples at 48000 Hz; give the signal that was played"},
		"other length":    {click{make([]float64, 5)}, both(4), "segment 1 has 4 samples and the signal has 5"},
		"one side":        {click{make([]float64, 5)}, both(5)[1:], "no segment is a sweep, left"},
		"no silence":      {click{make([]float64, 5)}, both(5)[:2], "no segment is a silence"},
		"a mark":          {click{make([]float64, 5)}, append(both(5), sweep.Segment{Kind: sweep.Mark, Start: 20}), "segment 4 is a timing mark"},
		"before the file": {click{make([]float64, 5)}, []sweep.Segment{{Kind: sweep.Silence, Start: -3}}, "segment 1 begins at sample -3"},
		"out of order":    {click{make([]float64, 5)}, append(both(5), sweep.Segment{Kind: sweep.Silence, Start: 2}), "put them in order of time"},
		"too long":        {click{make([]float64, 5)}, append(both(5), sweep.Segment{Kind: sweep.Silence, Start: 5, Len: math.MaxInt32}), "lasts more than 1h0m0s"},
	} {
		_, err := sweep.Playing(c.signal, c.segments)
		assert.ErrorContains(t, err, c.says, name)
	}
}
