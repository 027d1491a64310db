package demo

import (
	"io/fs"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/session"
	"example.com/earnest/internal/testing/race"
)

func TestDemonstrationIsASessionThatCanBeRead(t *testing.T) {
	race.Skip(t)
	folder := t.TempDir()
	o := Options{Seconds: 1, Seatings: 1, Material: -1, Alone: true}
	var steps []string
	require.NoError(t, Write(folder, o, func(s string) { steps = append(steps, s) }))
	assert.NotEmpty(t, steps)

	s, err := session.Read(folder)
	require.NoError(t, err)
	assert.Len(t, s.Seatings, 1)
	assert.Empty(t, s.Programmes)
	assert.FileExists(t, filepath.Join(folder, "direct.wav"))

	assert.ErrorIs(t, Write(folder, o, func(string) {}), fs.ErrExist, "what is there is not overwritten")
}
