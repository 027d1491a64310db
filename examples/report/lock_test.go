package report_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/report"
)

// A second run gets an error. The next run removes what a killed one left, but nothing of a run in
// progress.
func TestTwoRunsIntoOneFolder(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "my-pair")
	left := filepath.Join(folder, ".unfinished-123")
	require.NoError(t, os.MkdirAll(left, 0o755))
	kept := filepath.Join(folder, "session.toml")
	require.NoError(t, os.WriteFile(kept, nil, 0o644))
	release, err := report.Lock(folder)
	require.NoError(t, err)
	assert.NoDirExists(t, left)
	assert.FileExists(t, kept)

	require.NoError(t, os.MkdirAll(left, 0o755))
	_, err = report.Lock(folder)
	require.ErrorIs(t, err, report.ErrBusy)
	assert.ErrorContains(t, err, "my-pair")
	assert.DirExists(t, left)

	release()
	again, err := report.Lock(folder)
	require.NoError(t, err)
	again()
	elsewhere, err := report.Lock(filepath.Join(folder, "none"))
	require.NoError(t, err, "a folder that is not there yet")
	elsewhere()
}

func TestWritable(t *testing.T) {
	folder := t.TempDir()
	require.NoError(t, report.Writable(folder))
	require.NoError(t, report.Writable(filepath.Join(folder, "none", "yet")))
	entries, err := os.ReadDir(folder)
	require.NoError(t, err)
	assert.Empty(t, entries, "nothing is left behind")
	file := filepath.Join(folder, "file")
	require.NoError(t, os.WriteFile(file, nil, 0o644))
	assert.ErrorContains(t, report.Writable(file), "not a folder")
	assert.Error(t, report.Writable(filepath.Join(file, "below")))
	if _, err := os.Stat("/proc/1"); err == nil {
		assert.ErrorContains(t, report.Writable("/proc"), "nothing can be written", "not even by root")
	}
}
