package session

import (
	"example.com/earnest/internal/testing/long"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/demo"
)

// A direct recording that two sessions share is measured once, and the results are the same to the
// last bit. Where a bit of it, of the stimulus or of the highest frequency is another, it is
// measured again.
func TestSameDirectRecordingIsMeasuredOnce(t *testing.T) {
	long.Skip(t)
	folder := t.TempDir()
	require.NoError(t, demo.Write(folder, demo.Options{Seconds: 2, Seatings: 1, Material: -1}, func(string) {}))
	read := func() *Session {
		s, err := Read(filepath.Join(folder, "tarrowby"))
		require.NoError(t, err)
		return s
	}
	first, err := Read(filepath.Join(folder, "ollerthwaite"))
	require.NoError(t, err)
	_, err = first.Review(nil)
	require.NoError(t, err)

	anew, taken := read(), read()
	taken.Like(first)
	want, err := anew.Review(nil)
	require.NoError(t, err)
	got, err := taken.Review(nil)
	require.NoError(t, err)
	assert.Same(t, first.direct.channels.Left.Recording, taken.direct.channels.Left.Recording, "it is not read again")
	assert.NotSame(t, first.direct.channels.Left.Recording, anew.direct.channels.Left.Recording)
	// NaN is unequal to itself: the texts are compared.
	assert.Equal(t, fmt.Sprint(want.Pair()), fmt.Sprint(got.Pair()))
	assert.Equal(t, fmt.Sprint(want.Findings), fmt.Sprint(got.Findings))
	assert.Equal(t, want.Notes, got.Notes)
	assert.Equal(t, fmt.Sprint(want.Left.THD(1000)), fmt.Sprint(got.Left.THD(1000)))

	for what, change := range map[string]func(*Session){
		"a ceiling":        func(s *Session) { s.Rig.Ceiling = 15000 },
		"a stimulus":       func(s *Session) { s.Stimulus.Seconds = 3 },
		"a channel":        func(s *Session) { s.Direct.Right = 1 },
		"a play":           func(s *Session) { s.Direct.Play = 1 },
		"unfit recordings": func(s *Session) { s.UseUnfit = !s.UseUnfit },
	} {
		other := read()
		change(other)
		other.Like(first)
		assert.Nil(t, other.like, what)
	}
	file, err := os.OpenFile(filepath.Join(folder, "tarrowby", "direct.wav"), os.O_APPEND|os.O_WRONLY, 0)
	require.NoError(t, err)
	_, err = file.WriteString("\n")
	require.NoError(t, err)
	require.NoError(t, file.Close())
	other := read()
	other.Like(first)
	assert.Nil(t, other.like, "another file")
}
