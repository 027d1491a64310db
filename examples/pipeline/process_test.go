package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"io"
	"io/fs"
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
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
)

// asCommand makes the test's own program the command.
const asCommand = "EARNEST_TEST_AS_PIPELINE"

func started(t *testing.T, sessions []string, arguments ...string) *exec.Cmd {
	c := exec.CommandContext(t.Context(), os.Args[0], arguments...)
	c.Env = append(os.Environ(), asCommand+"=1")
	c.Stdin = strings.NewReader(strings.Join(sessions, "\n"))
	return c
}

// A run that is interrupted from outside leaves whole lines, reports it in one line, shows no bar
// without a terminal, and exits with the code that shells expect.
func TestInterruptedFromOutside(t *testing.T) {
	race.Skip(t)
	c := started(t, pairs(t, 40), "-workers", "1")
	var said bytes.Buffer
	c.Stderr = &said
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	lines := bufio.NewReader(out)
	first, err := lines.ReadString('\n')
	require.NoError(t, err)
	require.NoError(t, c.Process.Signal(os.Interrupt))
	rest, err := io.ReadAll(lines)
	require.NoError(t, err)
	require.Error(t, c.Wait())
	assert.Equal(t, exitInterrupted, c.ProcessState.ExitCode())
	assert.Regexp(t, `^pipeline: interrupted after \d+ of 40 sessions\n$`, said.String(), "standard error is no terminal here")
	valid := validator(t)
	all := first + string(rest)
	require.True(t, strings.HasSuffix(all, "\n"))
	for _, line := range strings.SplitAfter(strings.TrimSuffix(all, "\n"), "\n") {
		assert.NoError(t, valid([]byte(line)))
	}
}

// A run that is killed goes on where it was.
func TestKilledRunContinues(t *testing.T) {
	long.Skip(t)
	sessions := pairs(t, 4)
	c := started(t, sessions, "-workers", "1")
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	lines := bufio.NewReader(out)
	first, err := lines.ReadString('\n')
	require.NoError(t, err)
	require.NoError(t, c.Process.Kill())
	rest, err := io.ReadAll(lines)
	require.NoError(t, err)
	require.Error(t, c.Wait())
	file := filepath.Join(t.TempDir(), "results.jsonl")
	require.NoError(t, os.WriteFile(file, []byte(first+string(rest)), 0o666))
	said, err := started(t, sessions, "-resume", file).CombinedOutput()
	require.NoError(t, err, string(said))
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	measured := map[string]int{}
	for _, line := range strings.Split(strings.TrimSuffix(string(data), "\n"), "\n") {
		var r Record
		require.NoError(t, json.Unmarshal([]byte(line), &r))
		require.Empty(t, r.Error)
		measured[r.Session]++
	}
	assert.Len(t, measured, 4)
	for s, n := range measured {
		assert.Equal(t, 1, n, s)
	}
}

var kills = flag.Int("kills", 0, "how often a run is killed at a random moment")

// However often and wherever a run is killed, the file holds whole lines and at most the beginning
// of one more, and all runs together measure every session once.
func TestKilledAtRandomMoments(t *testing.T) {
	if *kills == 0 {
		t.Skip("takes minutes; -args -kills 100 runs it")
	}
	const together = 8
	random := rand.New(rand.NewPCG(uint64(*kills), 1))
	var sessions []string
	file := filepath.Join(t.TempDir(), "results.jsonl")
	broken, whole := 0, 0
	start := time.Now()
	require.NoError(t, started(t, pairs(t, 1)).Run())
	lasts := time.Since(start)
	for range *kills {
		if remaining := len(sessions) - whole; remaining == 0 {
			sessions = append(sessions, pairs(t, together)...)
		}
		c := started(t, sessions, "-resume", file, "-workers", "2")
		require.NoError(t, c.Start())
		time.Sleep(time.Duration(random.Int64N(int64(3 * lasts))))
		require.NoError(t, c.Process.Kill())
		_ = c.Wait() // it was killed, or was done before
		data, err := os.ReadFile(file)
		if errors.Is(err, fs.ErrNotExist) {
			continue // it had not come so far
		}
		require.NoError(t, err)
		e, _, rest, err := readEarlier(bytes.NewReader(data))
		require.NoError(t, err)
		if whole = len(e.failed); rest > 0 {
			broken++
		}
	}
	said, err := started(t, sessions, "-resume", file).CombinedOutput()
	require.NoError(t, err, string(said))
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	valid, measured := validator(t), map[string]int{}
	for _, line := range strings.Split(strings.TrimSuffix(string(data), "\n"), "\n") {
		require.NoError(t, valid([]byte(line)))
		var r Record
		require.NoError(t, json.Unmarshal([]byte(line), &r))
		require.Empty(t, r.Error)
		measured[r.Session]++
	}
	assert.Len(t, measured, len(sessions))
	for s, n := range measured {
		assert.Equal(t, 1, n, s)
	}
	t.Logf("killed %d times: %d sessions measured once each, %d last lines broken off and cut away", *kills, len(measured), broken)
}

// A second run into the same file gets an error and writes nothing.
func TestTwoRunsIntoOneFile(t *testing.T) {
	file := filepath.Join(t.TempDir(), "results.jsonl")
	release, err := report.Lock(file)
	require.NoError(t, err)
	defer release()
	said, err := started(t, pairs(t, 1), "-resume", file).CombinedOutput()
	require.Error(t, err)
	assert.Contains(t, string(said), "another run is writing here")
	assert.NoFileExists(t, file)
}

// What should never happen, a panic, fails one session.
func TestPanicFailsOneSession(t *testing.T) {
	fake := func(s string) Record {
		if s == "bad" {
			panic("index out of range")
		}
		return newRecord(s, nil, assert.AnError)
	}
	var out writes
	failed, err := pipeline{fake}.measureEach(context.Background(), []string{"good", "bad", "other"}, 1, func(r Record) error { return writeLine(&out, r) })
	require.NoError(t, err)
	assert.Equal(t, 3, failed)
	assert.Contains(t, out[1], "pipeline: bad: a fault of this program, not of the recordings: index out of range; report it")
}
