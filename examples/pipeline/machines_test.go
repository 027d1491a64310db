package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/programs"
)

// shelf is a working folder with a list of three sessions, one of which cannot be measured, and the
// command.
func shelf(t *testing.T) (run func(script string) string) {
	folder := t.TempDir()
	self, err := os.Executable()
	require.NoError(t, err)
	var list []string
	for i, from := range []string{tinySession(t), tinySession(t), ""} {
		one := filepath.Join("pairs", fmt.Sprint("pair ", i)) // a name with a space
		require.NoError(t, os.MkdirAll(filepath.Join(folder, one), 0o777))
		text := []byte("[headphones]\nname = \"broken\"\n")
		if from != "" {
			require.NoError(t, os.CopyFS(filepath.Join(folder, one), os.DirFS(from)))
			text, err = os.ReadFile(filepath.Join(from, "session.toml"))
			require.NoError(t, err)
		}
		list = append(list, filepath.Join(one, "session.toml"))
		_ = os.Remove(filepath.Join(folder, list[i]))
		require.NoError(t, os.WriteFile(filepath.Join(folder, list[i]), text, 0o666))
	}
	require.NoError(t, os.WriteFile(filepath.Join(folder, "list"), []byte(strings.Join(list, "\n")+"\n"), 0o666))
	require.NoError(t, os.WriteFile(filepath.Join(folder, "pipeline"),
		[]byte("#!/bin/sh\n"+asCommand+"=1 exec '"+self+"' \"$@\"\n"), 0o777))
	here, err := os.Getwd()
	require.NoError(t, err)
	require.NoError(t, os.MkdirAll(filepath.Join(folder, "examples"), 0o777))
	require.NoError(t, os.Symlink(here, filepath.Join(folder, "examples", "pipeline")))
	return func(script string) string {
		c := exec.Command("sh", "-c", script)
		c.Dir = folder
		out, err := c.Output()
		if failed, ok := err.(*exec.ExitError); ok {
			t.Logf("%s: %v: %s", script, err, failed.Stderr)
		}
		return string(out)
	}
}

// blocks returns the code blocks of a section of the README.
func blocks(t *testing.T, heading, language string) (all []string) {
	page, err := os.ReadFile("README.md")
	require.NoError(t, err)
	_, text, found := strings.Cut(string(page), "## "+heading+"\n")
	require.True(t, found, heading)
	text, _, _ = strings.Cut(text, "\n## ")
	for _, part := range strings.Split(text, "```"+language+"\n")[1:] {
		block, _, _ := strings.Cut(part, "```")
		all = append(all, block)
	}
	return all
}

// However the sessions are divided, the joined lines equal those of a single run, and the README's
// queries work on the loaded data.
func TestShelfOnSeveralMachines(t *testing.T) {
	long.Skip(t)
	run := shelf(t)
	lines := func(text string) []string {
		return slices.Sorted(strings.Lines(text))
	}
	whole := lines(run("./pipeline -workers 1 < list"))
	require.Len(t, whole, 3)

	paragraphs := strings.Split(blocks(t, "Past one machine", "sh")[0], "\n\n")
	joined := paragraphs[len(paragraphs)-1]
	run(paragraphs[1])
	run(joined)
	assert.Equal(t, whole, lines(run("cat results.jsonl")), "xargs -P")

	assert.Contains(t, paragraphs[2], "parallel ")
	if _, err := exec.LookPath("parallel"); err == nil {
		run("rm results.jsonl;" + paragraphs[2])
		assert.Equal(t, whole, lines(run("cat results.jsonl")), "GNU parallel")
	}

	for _, task := range []string{"1", "2"} {
		run("TASK=" + task + " TASKS=2 PIPELINE=./pipeline examples/pipeline/array.sh list parts")
		run("TASK=" + task + " TASKS=2 PIPELINE=./pipeline examples/pipeline/array.sh list parts") // nothing is left to do
	}
	assert.Equal(t, whole, lines(run("cat parts/*.jsonl")), "a job array")

	programs.Need(t, "sqlite3")
	load := strings.TrimSpace(blocks(t, "A shelf in a database", "sh")[0])
	run("cat parts/1.jsonl >> results.jsonl") // lines that are there twice count once
	assert.Empty(t, run(load))
	assert.Empty(t, run(load), "loaded anew")
	ask := func(query string) string { return run(`sqlite3 shelf.db "` + query + `" 2>&1`) }
	assert.Equal(t, "2|1\n", ask(`SELECT (SELECT count(*) FROM pair), (SELECT count(*) FROM failed)`))
	assert.Equal(t, "Quillon (invented)|1\n",
		ask(`SELECT name, rms_low_db <= rms_db AND rms_db <= rms_high_db FROM pair LIMIT 1`))
	assert.Equal(t, "4|4\n", ask(`SELECT count(*), count(answer) FROM use WHERE session LIKE '%pair 0%'`), "a row for each use")
	for _, query := range strings.Split(strings.TrimSpace(blocks(t, "A shelf in a database", "sql")[0]), "\n") {
		if strings.HasPrefix(query, "--") {
			continue
		}
		got := ask(query)
		assert.NotContains(t, got, "Error", query)
		assert.NotContains(t, got, "no such", query)
		if strings.Contains(query, "failed") {
			assert.Contains(t, got, "pair 2")
		}
	}
}
