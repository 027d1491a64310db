package report

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Wherever a run is killed while files take their places, the folder holds the old report or, once
// the next run has the lock, all of the new one.
func TestKilledWhileFilesTakeTheirPlaces(t *testing.T) {
	const variable = "EARNEST_KILL_AT"
	write := func(folder, text string) {
		for _, name := range Files {
			require.NoError(t, os.WriteFile(filepath.Join(folder, name), []byte(text), 0o600))
		}
	}
	if at, folder, child := strings.Cut(os.Getenv(variable), " "); child {
		left, err := strconv.Atoi(at)
		require.NoError(t, err)
		rename = func(from, to string) error {
			if left--; left < 0 {
				self, err := os.FindProcess(os.Getpid())
				require.NoError(t, err)
				require.NoError(t, self.Kill())
				select {}
			}
			return os.Rename(from, to)
		}
		temporary := filepath.Join(folder, unfinished+"1")
		require.NoError(t, os.Mkdir(temporary, 0o700))
		write(temporary, "new")
		require.NoError(t, settle(temporary, folder))
		return
	}
	for kill := 0; kill <= len(Files)+1; kill++ { // the last one is not killed
		folder := t.TempDir()
		write(folder, "old")
		c := exec.CommandContext(t.Context(), os.Args[0], "-test.run", "^"+t.Name()+"$")
		c.Env = append(os.Environ(), variable+"="+strconv.Itoa(kill)+" "+folder)
		said, err := c.CombinedOutput()
		assert.Equal(t, kill > len(Files), err == nil, "%d: %s", kill, said)
		release, err := Lock(folder)
		require.NoError(t, err)
		release()
		expected := "new"
		if kill == 0 {
			expected = "old"
		}
		entries, err := os.ReadDir(folder)
		require.NoError(t, err)
		assert.Len(t, entries, len(Files), "%d: nothing is left behind", kill)
		for _, e := range entries {
			text, err := os.ReadFile(filepath.Join(folder, e.Name()))
			require.NoError(t, err)
			assert.Equal(t, expected, string(text), "%d: %s", kill, e.Name())
		}
	}
}
