//go:build unix

package regular

import (
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestOpenTakesRegularFilesOnly(t *testing.T) {
	folder := t.TempDir()
	file, link, pipe := filepath.Join(folder, "file"), filepath.Join(folder, "link"), filepath.Join(folder, "pipe")
	require.NoError(t, os.WriteFile(file, []byte("four"), 0o600))
	require.NoError(t, os.Symlink(file, link))
	require.NoError(t, syscall.Mkfifo(pipe, 0o600))
	for _, path := range []string{file, link} {
		f, size, err := Open(path)
		require.NoError(t, err)
		assert.EqualValues(t, 4, size)
		text, err := io.ReadAll(f)
		require.NoError(t, err)
		assert.Equal(t, "four", string(text))
		require.NoError(t, f.Close())
	}
	for path, want := range map[string]error{
		folder: ErrFolder, pipe: ErrSpecial, os.DevNull: ErrSpecial, filepath.Join(folder, "none"): fs.ErrNotExist,
	} {
		_, _, err := Open(path)
		assert.ErrorIs(t, err, want, path)
	}
}
