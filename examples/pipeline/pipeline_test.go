package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/programs"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

var tiny struct {
	once   sync.Once
	folder string
	err    error
}

func TestMain(m *testing.M) {
	if os.Getenv(asCommand) != "" {
		main()
		return
	}
	code := m.Run()
	if tiny.folder != "" {
		os.RemoveAll(tiny.folder)
	}
	os.Exit(code)
}

// tinySession is the folder of a session as small as one can be: one seating with sweeps of half a
// second.
func tinySession(t testing.TB) string {
	tiny.once.Do(func() {
		if tiny.folder, tiny.err = os.MkdirTemp("", "pipeline"); tiny.err != nil {
			return
		}
		small := filepath.Join(tiny.folder, "small")
		sw, err := sweep.New(sweep.Config{Duration: time.Second / 2, Level: -12})
		if tiny.err = err; err != nil {
			return
		}
		stimulus, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: sw, Silence: 300 * time.Millisecond, Gap: 500 * time.Millisecond})
		if tiny.err = err; err != nil {
			return
		}
		subject, _, bench := rig.Demonstration()
		save := func(name string, channels [][]float64) error {
			r := &capture.Recording{SampleRate: bench.SampleRate, Format: capture.Format{Bits: 24}, Channels: channels}
			return capture.Write(filepath.Join(small, name), r, capture.WriteConfig{})
		}
		tiny.err = errors.Join(os.Mkdir(small, 0o777),
			save("direct.wav", bench.Direct(stimulus.Channels())),
			save("seating.wav", bench.Through(subject, 0, stimulus.Channels())),
			os.WriteFile(filepath.Join(small, "session.toml"), []byte(`
title = "Quillon"
headphones = { name = "Quillon (invented)" }
rig = { name = "flat plate, simulated" }
stimulus = { seconds = 0.5, level = -12, silence = 0.3, gap = 0.5 }
direct = { file = "direct.wav" }
[[seating]]
left  = { file = "seating.wav", channel = 1 }
right = { file = "seating.wav", channel = 2 }
`), 0o666))
	})
	require.NoError(t, tiny.err)
	return filepath.Join(tiny.folder, "small")
}

// pairs are links to the session, under names of their own.
func pairs(t testing.TB, n int) []string {
	t.Helper()
	folder := t.TempDir()
	paths := make([]string, n)
	for i := range paths {
		paths[i] = filepath.Join(folder, fmt.Sprintf("pair-%03d", i))
		require.NoError(t, os.Symlink(tinySession(t), paths[i]))
	}
	return paths
}

// writes counts the calls of Write, and keeps what each wrote.
type writes []string

func (w *writes) Write(b []byte) (int, error) {
	*w = append(*w, string(b))
	return len(b), nil
}

// validator checks a line against the schema as the command prints it.
func validator(t *testing.T) func(line []byte) error {
	t.Helper()
	var printed bytes.Buffer
	require.Equal(t, exitFine, pipeline{new(measurer).measure}.run(context.Background(), []string{"-schema"}, nil, &printed, io.Discard))
	schema, err := jsonschema.UnmarshalJSON(&printed)
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	const id = "https://example.com/earnest/pipeline.schema.json"
	require.NoError(t, c.AddResource(id, schema))
	compiled, err := c.Compile(id)
	require.NoError(t, err)
	return func(line []byte) error {
		value, err := jsonschema.UnmarshalJSON(bytes.NewReader(line))
		if err != nil {
			return err
		}
		return compiled.Validate(value)
	}
}

func TestLinesFollowTheSchema(t *testing.T) {
	race.Skip(t)
	good := pairs(t, 1)[0]
	var out writes
	var said bytes.Buffer
	code := pipeline{new(measurer).measure}.run(context.Background(), []string{"-workers", "1", good, "no such <place>", good + "/session.toml"}, nil, &out, &said)
	assert.Equal(t, exitFailures, code)
	assert.Equal(t, "pipeline: 1 of 2 sessions not measured; their lines say why\n", said.String())
	require.Len(t, out, 2, "one Write a line, and the session that is named twice once")
	valid := validator(t)
	for _, line := range out {
		require.Equal(t, 1, strings.Count(line, "\n"))
		require.True(t, strings.HasSuffix(line, "\n"))
		assert.NoError(t, valid([]byte(line)))
	}
	var first, second Record
	require.NoError(t, json.Unmarshal([]byte(out[0]), &first))
	require.NoError(t, json.Unmarshal([]byte(out[1]), &second))
	assert.Equal(t, good+"/session.toml", first.Session)
	var results struct{ Headphones struct{ Name string } }
	require.NoError(t, json.Unmarshal(first.Results, &results))
	assert.Equal(t, "Quillon (invented)", results.Headphones.Name)
	assert.Equal(t, "no such <place>", second.Session)
	assert.Contains(t, second.Error, "no such <place>: file does not exist; name a session file")

	for name, line := range map[string]string{
		"neither results nor an error":      `{"schema":"earnest/pipeline","version":1,"session":"a"}`,
		"both":                              `{"schema":"earnest/pipeline","version":1,"session":"a","error":"b","results":{}}`,
		"a file that does not hold results": `{"schema":"earnest/pipeline","version":1,"session":"a","results":{"schema":"earnest/results"}}`,
		"another version":                   `{"schema":"earnest/pipeline","version":2,"session":"a","error":"b"}`,
		"no session":                        `{"schema":"earnest/pipeline","version":1,"error":"b"}`,
	} {
		assert.Error(t, valid([]byte(line)), name)
	}
}

// A folder of sessions, one of them without a session file. It takes a second or less for each, so
// there are a hundred only where EARNEST_HUNDRED_SESSIONS=1 asks for them.
func TestManySessions(t *testing.T) {
	n := 3
	if os.Getenv("EARNEST_HUNDRED_SESSIONS") == "1" {
		n = 100
	}
	list := pairs(t, n)
	require.NoError(t, os.Remove(list[2]))
	require.NoError(t, os.Mkdir(list[2], 0o777))
	file := filepath.Join(t.TempDir(), "results.jsonl")
	var said bytes.Buffer
	code := pipeline{new(measurer).measure}.run(context.Background(), []string{"-resume", file}, strings.NewReader(strings.Join(list, "\n")+"\n\n"), io.Discard, &said)
	assert.Equal(t, exitFailures, code, said.String())
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	lines := strings.Split(strings.TrimSuffix(string(data), "\n"), "\n")
	require.Len(t, lines, n)
	assert.Equal(t, 1, strings.Count(string(data), `,"error":"`))
	valid := validator(t)
	for _, line := range lines[:3] {
		require.NoError(t, valid([]byte(line)))
	}

	// With all of it there, nothing is measured again, and the failure is remembered.
	none := func(s string) Record { panic("measured again: " + s) }
	code = pipeline{none}.run(context.Background(), append([]string{"-resume", file}, list...), nil, io.Discard, io.Discard)
	assert.Equal(t, exitFailures, code)
	again, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, data, again)

	programs.Need(t, "jq")
	names, err := exec.Command("jq", "-r", `select(.results) | .results.deviation.mean.rms | "\(.value) \(.unit)"`, file).Output()
	require.NoError(t, err)
	assert.Equal(t, n-1, strings.Count(string(names), " dB\n"), string(names))
}

func record(session, problem string) string {
	return `{"schema":"earnest/pipeline","version":1,"session":"` + session + `","error":"` + problem + `"}` + "\n"
}

func TestResume(t *testing.T) {
	const good = "a good one"
	fake := func(s string) Record {
		if s == good {
			return newRecord(s, json.RawMessage("{}"), nil)
		}
		return newRecord(s, nil, errors.New("bad"))
	}
	whole := record("first", "was bad")
	for _, c := range []struct {
		name, before string
		args         []string
		code         int
		lines        int
		says         string
	}{
		{"no file yet", "", []string{good}, exitFine, 1, ""},
		{"nothing left to do but what failed", whole, []string{"first"}, exitFailures, 1, "1 of 1 sessions not measured"},
		{"only what is missing", whole, []string{"first", good}, exitFailures, 2, "1 of 2 sessions not measured"},
		{"an earlier failure not asked for", whole, []string{good}, exitFine, 2, ""},
		{"a failure again", whole, []string{"-retry", "first"}, exitFailures, 2, "1 of 1 sessions not measured"},
		{"a failure that was mended", whole + record(good, "was bad"), []string{"-retry", good}, exitFine, 3, ""},
		{"a line is incomplete", whole + whole[:40], []string{good}, exitFine, 2, "incomplete (40 bytes); it is removed"},
		{"a line is incomplete at once", whole + "{", []string{good}, exitFine, 2, "incomplete (1 bytes)"},
		{"a line without its end", whole + strings.TrimSuffix(record(good, "x"), "\n"), []string{good}, exitFine, 2, "is incomplete"},
		{"another program's", `{"name":"x"}` + "\n", []string{good}, exitUnusable, 1, "line 1: not a line of the pipeline"},
		{"no lines at all", "a recording", []string{good}, exitUnusable, 0, "line 1: not a line of the pipeline"},
		{"damage in the middle", whole[:30] + "\n" + whole, []string{good}, exitUnusable, 2, "line 1: not a line"},
		{"another version", strings.Replace(whole, ":1,", ":9,", 1), []string{good}, exitUnusable, 1, "it has version 9, but this program writes 1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "results.jsonl")
			if c.before != "" {
				require.NoError(t, os.WriteFile(file, []byte(c.before), 0o666))
			}
			var said, out bytes.Buffer
			assert.Equal(t, c.code, pipeline{fake}.run(context.Background(), append([]string{"-resume", file}, c.args...), nil, &out, &said), said.String())
			assert.Contains(t, said.String(), c.says)
			assert.Empty(t, out.String(), "all goes to the file")
			after, err := os.ReadFile(file)
			require.NoError(t, err)
			assert.Equal(t, c.lines, strings.Count(string(after), "\n"))
			if c.code == exitUnusable {
				assert.Equal(t, c.before, string(after), "a file that is not ours stays as it is")
			}
		})
	}
}

// Whenever it is interrupted, the lines that were written are whole, and the rest comes when it is
// resumed.
func TestInterruptedRunLeavesWholeLines(t *testing.T) {
	var sessions []string
	for i := range 50 {
		sessions = append(sessions, fmt.Sprint("session ", i))
	}
	ctx, cancel := context.WithCancel(context.Background())
	fake := func(s string) Record { return newRecord(s, nil, errors.New("long "+strings.Repeat("x", 10_000))) }
	var out writes
	_, err := pipeline{fake}.measureEach(ctx, sessions, 4, func(r Record) error {
		if len(out) == 19 {
			cancel()
		}
		return writeLine(&out, r)
	})
	require.ErrorIs(t, err, errInterrupted)
	e, whole, rest, err := readEarlier(strings.NewReader(strings.Join(out, "")))
	require.NoError(t, err)
	assert.Zero(t, rest)
	assert.Equal(t, len(strings.Join(out, "")), int(whole))
	require.GreaterOrEqual(t, len(e.failed), 20)
	todo, failed := e.missing(sessions, false)
	assert.Equal(t, len(out), failed)
	assert.Len(t, todo, 50-len(out))
	_, err = pipeline{fake}.measureEach(context.Background(), todo, 4, func(r Record) error { return writeLine(&out, r) })
	require.NoError(t, err)
	assert.Len(t, out, 50)
	assert.Len(t, distinct(out), 50)

	ctx, cancel = context.WithCancel(context.Background())
	cancel()
	var said bytes.Buffer
	assert.Equal(t, exitInterrupted, pipeline{new(measurer).measure}.run(ctx, []string{"-resume", filepath.Join(t.TempDir(), "r"), pairs(t, 1)[0]}, nil, io.Discard, &said))
	assert.Contains(t, said.String(), "interrupted after 0 of 1 sessions; repeat the command to continue")
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space left") }

func TestWhatCannotBeUsed(t *testing.T) {
	empty := strings.NewReader
	for _, c := range []struct {
		name string
		args []string
		in   string
		code int
		says string
	}{
		{"no sessions", nil, "\n", exitUnusable, "no session in the list"},
		{"no workers", []string{"-workers", "0", "x"}, "", exitUnusable, "-workers 0: give at least 1"},
		{"retry what", []string{"-retry", "x"}, "", exitUnusable, "-retry: name the file"},
		{"unknown flag", []string{"-fast"}, "", exitUnusable, "flag provided but not defined"},
		{"a recording for a list", nil, strings.Repeat("x", 100_000), exitUnusable, "line 1: bufio.Scanner: token too long; give one path a line"},
		{"help", []string{"-h"}, "", exitFine, "usage: pipeline"},
		{"resume in a place that is not there", []string{"-resume", "/no/such/folder/x", "y"}, "", exitUnusable, "no such file or directory"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var out, said bytes.Buffer
			assert.Equal(t, c.code, pipeline{new(measurer).measure}.run(context.Background(), c.args, empty(c.in), &out, &said))
			assert.Contains(t, said.String(), c.says)
			assert.Empty(t, out.String())
		})
	}
	var said bytes.Buffer
	assert.Equal(t, exitUnusable, pipeline{new(measurer).measure}.run(context.Background(), []string{"x", "y"}, nil, full{}, &said))
	assert.Contains(t, said.String(), "no space left; free some space and continue with -resume")
}
