package session

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/demo"
	"example.com/earnest/internal/testing/race"
)

// This file stands behind that of the peak of memory: a child's peak is at least that of the
// process that begins it.

// The kept result equals the measured one to the last bit, as long as no file has changed.
func TestPairIsKeptUntilSomethingChanges(t *testing.T) {
	race.Skip(t)
	folder := t.TempDir()
	require.NoError(t, demo.Write(folder, demo.Options{Seconds: 0.5, Seatings: 1, Material: -1, Alone: true}, func(string) {}))
	file := filepath.Join(folder, "session.toml")
	s, err := Read(file)
	require.NoError(t, err)
	first, unfit, err := s.Pair()
	require.NoError(t, err)
	key, known := s.key()
	require.True(t, known)
	k, ok := s.readKept(key)
	require.True(t, ok)
	assert.Equal(t, unfit, k.Unfit)
	// NaN is unequal to itself: the texts are compared.
	require.Equal(t, fmt.Sprint(first), fmt.Sprint(k.Pair))
	assert.Equal(t, first.Seatings[0].Components == nil, k.Pair.Seatings[0].Components == nil)
	s.Headphones.Name = "not measured again" // which is not in the file, and so not in the key
	again, _, err := s.Pair()
	require.NoError(t, err)
	assert.Equal(t, first.Name, again.Name)

	kept, err := os.ReadFile(file + keptSuffix)
	require.NoError(t, err)
	flipped := func(i int) []byte {
		bad := append([]byte(nil), kept...)
		bad[i] ^= 1
		return bad
	}
	for _, bad := range [][]byte{nil, kept[:40], kept[:len(kept)-1], flipped(0), flipped(40), flipped(len(kept) - 1)} {
		require.NoError(t, os.WriteFile(file+keptSuffix, bad, 0o600))
		_, ok := s.readKept(key)
		assert.False(t, ok, "%d bytes", len(bad))
	}
	require.NoError(t, os.WriteFile(file+keptSuffix, kept, 0o600))
	for _, name := range []string{"session.toml", "seating-1.wav", "microphone.txt"} {
		f, err := os.OpenFile(filepath.Join(folder, name), os.O_APPEND|os.O_WRONLY, 0)
		require.NoError(t, err)
		_, err = f.WriteString("\n")
		require.NoError(t, err)
		require.NoError(t, f.Close())
		other, known := s.key()
		assert.True(t, known)
		assert.NotEqual(t, key, other, name)
		key = other
	}
	require.NoError(t, os.Remove(filepath.Join(folder, "direct.wav")))
	_, known = s.key()
	assert.False(t, known, "a file that is not there")
}

// A folder with the name of the kept file, or a read-only folder, does not stop the measurement.
func TestAFolderThatCannotBeWrittenDoesNotMatter(t *testing.T) {
	folder := t.TempDir()
	s := &Session{file: filepath.Join(folder, "session.toml")}
	require.NoError(t, os.Mkdir(s.file+keptSuffix, 0o700))
	s.keep([32]byte{}, kept{})
	_, ok := s.readKept([32]byte{})
	assert.False(t, ok)
	left, err := filepath.Glob(filepath.Join(folder, ".*"))
	require.NoError(t, err)
	assert.Empty(t, left, "no file is left half-written")
	(&Session{file: filepath.Join(folder, "nowhere", "session.toml")}).keep([32]byte{}, kept{})
}
