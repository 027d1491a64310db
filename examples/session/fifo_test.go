//go:build unix

package session

import (
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A pipe would be waited for without end.
func TestPipesAreRefused(t *testing.T) {
	folder := t.TempDir()
	pipe := filepath.Join(folder, "pipe")
	require.NoError(t, syscall.Mkfifo(pipe, 0o600))
	_, err := Read(pipe)
	require.ErrorIs(t, err, ErrSession)
	assert.ErrorContains(t, err, "not a regular file")
	s := &Session{folder: folder, Direct: StereoFile{File: "pipe"}}
	err = s.present(s.recordings())
	require.ErrorIs(t, err, ErrSession)
	assert.ErrorContains(t, err, "[direct]: ")
}
