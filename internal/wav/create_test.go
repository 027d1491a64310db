package wav

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func text(s string) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := io.WriteString(w, s)
		return err
	}
}

// names returns the names in a folder.
func names(t *testing.T, folder string) (n []string) {
	entries, err := os.ReadDir(folder)
	require.NoError(t, err)
	for _, e := range entries {
		n = append(n, e.Name())
	}
	return n
}

func TestCreateNeverReplacesUnlessAsked(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "a.wav")
	require.NoError(t, Create(path, false, text("first")))
	err := Create(path, false, text("second"))
	require.ErrorIs(t, err, fs.ErrExist)
	assert.Equal(t, "first", string(must(os.ReadFile(path))))
	require.NoError(t, Create(path, true, text("third")))
	assert.Equal(t, "third", string(must(os.ReadFile(path))))
	assert.Equal(t, []string{"a.wav"}, names(t, folder))
}

func TestCreateLeavesNoPartOfAFile(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "a.wav")
	broken := errors.New("broken")
	half := func(w io.Writer) error { return errors.Join(text("half")(w), broken) }
	require.ErrorIs(t, Create(path, false, half), broken)
	assert.Empty(t, names(t, folder))
	require.NoError(t, Create(path, false, text("whole")))
	require.ErrorIs(t, Create(path, true, half), broken)
	assert.Equal(t, "whole", string(must(os.ReadFile(path))))
	assert.Panics(t, func() { _ = Create(path, true, func(io.Writer) error { panic("bug") }) })
	assert.Equal(t, []string{"a.wav"}, names(t, folder))
}

// Another program takes the name while the file is being written.
func TestCreateDoesNotReplaceAFileMadeMeanwhile(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "a.wav")
	err := Create(path, false, func(w io.Writer) error { return os.WriteFile(path, []byte("theirs"), 0o666) })
	require.ErrorIs(t, err, fs.ErrExist)
	assert.Equal(t, "theirs", string(must(os.ReadFile(path))))
	assert.Equal(t, []string{"a.wav"}, names(t, folder))
}

func TestCreateNamesTheFileInTheWay(t *testing.T) {
	folder := t.TempDir()
	err := Create(folder, true, text("x"))
	assert.ErrorIs(t, err, fs.ErrExist)
	assert.ErrorContains(t, err, "folder")
	err = Create(filepath.Join(folder, "none", "a.wav"), false, text("x"))
	assert.ErrorIs(t, err, fs.ErrNotExist)
	assert.ErrorContains(t, err, "make it first")
}

// Memory cards have no links.
func TestCreateWithoutLinks(t *testing.T) {
	none := func(string, string) error { return errors.ErrUnsupported }
	folder := t.TempDir()
	part, path := filepath.Join(folder, "part"), filepath.Join(folder, "a.wav")
	require.NoError(t, os.WriteFile(part, []byte("whole"), 0o666))
	require.NoError(t, settle(part, path, none))
	assert.Equal(t, "whole", string(must(os.ReadFile(path))))
	require.NoError(t, os.WriteFile(part, []byte("second"), 0o666))
	require.ErrorIs(t, settle(part, path, none), fs.ErrExist)
	assert.Equal(t, "whole", string(must(os.ReadFile(path))))
}
