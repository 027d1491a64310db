package recognise_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/sweep"
	"example.com/earnest/sweep/recognise"
)

// The stimulus that is read from the file of a stimulus has the same layout, with a second of
// silence added before.
func TestStimulusOutOfAFile(t *testing.T) {
	s, err := sweep.New(sweep.Config{Duration: time.Second, Level: -6, FadeIn: -1, FadeOut: -1})
	require.NoError(t, err)
	for name, unmarked := range map[string]bool{"with timing marks": false, "without": true} {
		own, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Repeats: 2, Gap: 400 * time.Millisecond, Unmarked: unmarked})
		require.NoError(t, err)
		st, found, err := recognise.Stimulus(own.Channels(), rate)
		require.NoError(t, err, name)
		assert.NotEmpty(t, found, name)
		for _, side := range []sweep.Side{sweep.Left, sweep.Right} {
			want, got := own.Sweeps(side), st.Sweeps(side)
			require.Len(t, got, 2, name)
			for k := range got {
				assert.InDelta(t, want[k].Start+rate, got[k].Start, 1, "%s: the sine begins with a zero", name)
			}
		}
		require.NotNil(t, st.Sweep(), name)
		assert.InDelta(t, s.TimeConstant(), st.Sweep().TimeConstant(), 1e-9, name)
		// In the segments of silence nothing is played.
		channels := own.Channels()
		for _, gap := range st.Find(sweep.Silence) {
			for i := max(rate, gap.Start) - rate; i < min(own.Len(), gap.Start-rate+gap.Len); i++ {
				require.InDelta(t, 0, channels[0][i]+channels[1][i], 1e-6, "%s: sample %d; the soft beginning of a mark", name, i)
			}
		}
	}
}

func TestOneSideStandsForBoth(t *testing.T) {
	s, err := sweep.New(sweep.Config{Duration: time.Second, Level: -6})
	require.NoError(t, err)
	x := silent(s.Samples())
	for name, channels := range map[string][][]float64{
		"one channel": {x}, "the left of two": {x, make([]float64, len(x))}, "both alike": {x, slices.Clone(x)},
	} {
		st, _, err := recognise.Stimulus(channels, rate)
		require.NoError(t, err, name)
		assert.Equal(t, st.Sweeps(sweep.Left)[0].Start, st.Sweeps(sweep.Right)[0].Start, name)
		assert.Len(t, st.Sweeps(sweep.Left), 1, name)
	}
}

func TestNothingToMeasureWith(t *testing.T) {
	_, _, err := recognise.Stimulus([][]float64{make([]float64, rate)}, rate)
	assert.ErrorIs(t, err, recognise.ErrNothing)
	assert.ErrorContains(t, err, "only silence")
}

func TestAnotherSpeedIsNamed(t *testing.T) {
	long.Skip(t)
	of := func(c sweep.Config) []recognise.Content {
		s, err := sweep.New(c)
		require.NoError(t, err)
		return recognise.Find([][]float64{silent(s.Samples())}, rate)
	}
	played := of(sweep.Config{TimeConstant: 0.2, Stop: 18000})
	assert.Empty(t, recognise.Mismatch(played, of(sweep.Config{TimeConstant: 0.2, Stop: 18000, Level: -20})))
	assert.Contains(t, recognise.Mismatch(played, of(sweep.Config{TimeConstant: 0.2 * 0.91875, Start: 20 / 0.91875, Stop: 18000 / 0.91875})),
		"recorded at 1.0884 times the speed")
	assert.Contains(t, recognise.Mismatch(played, of(sweep.Config{TimeConstant: 0.3, Stop: 18000})), "the recording is of another sweep")
	assert.Empty(t, recognise.Mismatch(played, nil))
}
