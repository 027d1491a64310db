package flac

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/programs"
)

// Samples of 16 bits in files of 24: eight bits of each are always zero, and encoders leave them
// out (RFC 9639, section 9.2.2). So the file is hardly larger than one of 16 bits. It must read
// back unchanged.
func TestReadFLACOfWastedBits(t *testing.T) {
	programs.Need(t, "sox")
	folder := t.TempDir()
	run := func(name string, args ...string) {
		c := exec.Command(name, args...)
		c.Dir = folder
		out, err := c.CombinedOutput()
		require.NoError(t, err, string(out))
	}
	run("sox", "-D", "-r", "48000", "-n", "-c", "2", "-b", "16", "short.wav", "synth", "0.5", "sine", "20-10000", "pinknoise", "gain", "-3")
	run("sox", "-D", "short.wav", "short.flac")
	run("sox", "-D", "short.wav", "-b", "24", "long.flac")
	size := func(name string) float64 {
		about, err := os.Stat(filepath.Join(folder, name))
		require.NoError(t, err)
		return float64(about.Size())
	}
	require.Less(t, size("long.flac"), 1.1*size("short.flac"), "the bits are left out")
	want, err := read(filepath.Join(folder, "short.wav"))
	require.NoError(t, err)
	got, err := read(filepath.Join(folder, "long.flac"))
	require.NoError(t, err)
	assert.Equal(t, 24, got.Format.Bits)
	assert.Equal(t, want.Channels, got.Channels)
}
