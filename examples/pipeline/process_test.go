package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// asCommand makes the test's own program the command.
const asCommand = "EARNEST_TEST_AS_PIPELINE"

func started(t *testing.T, sessions []string, arguments ...string) *exec.Cmd {
	c := exec.CommandContext(t.Context(), os.Args[0], arguments...)
	c.Env = append(os.Environ(), asCommand+"=1")
	c.Stdin = strings.NewReader(strings.Join(sessions, "\n"))
	return c
}

// A run that is interrupted from outside leaves whole lines, says so in one, shows no bar where nobody looks, and exits as shells expect.
func TestInterruptedFromOutside(t *testing.T) {
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
func TestKilledRunGoesOn(t *testing.T) {
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
