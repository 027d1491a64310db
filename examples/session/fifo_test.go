//go:build unix

package session

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/level"
	"example.com/earnest/target"
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
	err = s.present(s.needed())
	require.ErrorIs(t, err, errNotRegular)
	assert.ErrorContains(t, err, "[direct]: ")
	for name, read := range map[string]func(string) error{
		"recording":   func(path string) error { _, err := capture.Read(path); return err },
		"curve":       func(path string) error { _, err := response.ReadCurveFile(path); return err },
		"target":      func(path string) error { _, err := target.ReadFile(path); return err },
		"calibration": func(path string) error { _, err := level.ReadCalibrationFile(path); return err },
	} {
		for _, path := range []string{pipe, os.DevNull} {
			assert.ErrorContains(t, read(path), "a pipe or a device", name)
		}
		assert.ErrorContains(t, read(folder), "a folder; name a file in it", name)
	}
	assert.ErrorContains(t, s.read("pipe", 1).Err, "a pipe or a device")
}
