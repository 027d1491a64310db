package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/report"
)

// asCommand makes the test's own program the command.
const asCommand = "EARNEST_TEST_AS_REVIEW"

func TestMain(m *testing.M) {
	if os.Getenv(asCommand) != "" {
		main()
		return
	}
	os.Exit(m.Run())
}

var kills = flag.Int("kills", 0, "how often a review is killed at a random moment")

// However often and wherever a review is killed, every file of the report is complete, and the next
// run removes the remains.
func TestKilledAtRandomMoments(t *testing.T) {
	if *kills == 0 {
		t.Skip("takes minutes; -args -kills 100 runs it")
	}
	folder := made(t)
	random := rand.New(rand.NewPCG(uint64(*kills), 1))
	command := func() *exec.Cmd {
		c := exec.CommandContext(t.Context(), os.Args[0], "-replace", folder)
		c.Env = append(os.Environ(), asCommand+"=1")
		return c
	}
	start := time.Now()
	said, err := command().CombinedOutput()
	require.NoError(t, err, string(said))
	lasts := time.Since(start)
	ended, left := 0, 0
	for range *kills {
		for _, name := range report.Files {
			require.NoError(t, os.RemoveAll(filepath.Join(folder, name)))
		}
		c := command()
		require.NoError(t, c.Start())
		// Half of them while the report is written, which is the last part.
		at := lasts * time.Duration(80+random.IntN(25)) / 100
		if random.IntN(2) == 0 {
			at = time.Duration(random.Int64N(int64(lasts)))
		}
		time.Sleep(at)
		require.NoError(t, c.Process.Kill())
		if c.Wait() == nil {
			ended++
		}
		for _, name := range reports(t, folder) {
			if strings.HasPrefix(name, ".unfinished-") || strings.HasPrefix(name, ".finished-") {
				left++
				continue
			}
			text, err := os.ReadFile(filepath.Join(folder, name))
			require.NoError(t, err)
			switch filepath.Ext(name) {
			case ".json":
				assert.True(t, json.Valid(text), name)
			case ".html":
				assert.True(t, bytes.HasSuffix(bytes.TrimSpace(text), []byte("</html>")), name)
			default:
				assert.True(t, bytes.HasSuffix(text, []byte("\n")), name)
			}
		}
	}
	said, err = command().CombinedOutput()
	require.NoError(t, err, string(said))
	assert.ElementsMatch(t, report.Files, reports(t, folder), "nothing is left behind")
	t.Logf("killed %d times, %d of them after the end: %d unfinished reports were left and taken away by the next run", *kills, ended, left)
}
