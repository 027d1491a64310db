package lesson_test

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/workshop/bench"
	"example.com/earnest/examples/workshop/lesson"
)

func TestEachLessonCanBeTried(t *testing.T) {
	require.Len(t, lesson.All, 8)
	for _, l := range lesson.All {
		assert.True(t, strings.HasSuffix(l.Question, "?"), l.Title)
		assert.GreaterOrEqual(t, len(l.Tries), 2, "%s: something to compare", l.Title)
		for _, try := range l.Tries {
			assert.NoError(t, try.Settings().Check(), "%s: %s", l.Title, try.Label)
		}
	}
}

func TestAReadingSaysWhatIsNotKnown(t *testing.T) {
	s := bench.Default()
	s.After = 5 // nothing is known below 200 Hz
	short := measured(s)
	s.Level, s.Noise = -60, -20 // nothing is found in the noise
	lost, err := workbench.Measure(context.Background(), s)
	require.NoError(t, err)
	require.Error(t, lost.Problem)
	for _, l := range lesson.All {
		for _, r := range []*bench.Result{short, lost} {
			words := l.Read(r)
			assert.NotContains(t, words, "NaN", l.Title)
			assert.NotContains(t, words, "Inf", l.Title)
			assert.NotEmpty(t, words, l.Title)
		}
	}
	assert.Contains(t, lesson.All[0].Read(short), "not known")
	assert.Contains(t, lesson.All[0].Read(lost), "no response")
}
