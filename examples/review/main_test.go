package main

import (
	"bytes"
	"errors"
	"flag"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/demo"
	"example.com/earnest/examples/report"
	"example.com/earnest/examples/session"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
)

// made is a small demonstration: a sweep of 1 s, one pair in two seatings, no
// programme material.
func made(t *testing.T) string {
	folder := t.TempDir()
	require.NoError(t, demo.Write(folder, demo.Options{Seconds: 1, Seatings: 2, Material: -1, Alone: true}, func(string) {}))
	return folder
}

// edit changes the session file.
func edit(t *testing.T, folder string, change func(text string) string) {
	path := filepath.Join(folder, "session.toml")
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, []byte(change(string(text))), 0o644))
}

// reports returns the names of the report files in a folder, finished or not.
func reports(t *testing.T, folder string) []string {
	entries, err := os.ReadDir(folder)
	require.NoError(t, err)
	var found []string
	for _, e := range entries {
		for _, name := range append(report.Files, ".unfinished-") {
			if strings.HasPrefix(e.Name(), name) {
				found = append(found, e.Name())
			}
		}
	}
	return found
}

func TestReview(t *testing.T) {
	race.Skip(t)
	folder := made(t)
	path := filepath.Join(folder, "session.toml")
	var out bytes.Buffer
	require.NoError(t, run([]string{"-timings", path}, &out, io.Discard))
	assert.Regexp(t, `(?m)^ *\d+\.\d\d +\d+\.\d\d +\d+ % +\d+ +measuring 2 seatings$`, out.String())
	assert.ElementsMatch(t, report.Files, reports(t, folder))
	assert.Contains(t, out.String(), "channel balance (L−R)")
	before, err := os.ReadFile(filepath.Join(folder, "results.json"))
	require.NoError(t, err)

	t.Run("a report is not replaced unasked", func(t *testing.T) {
		err := run([]string{path}, &out, io.Discard)
		require.ErrorIs(t, err, report.ErrExists)
		after, err := os.ReadFile(filepath.Join(folder, "results.json"))
		require.NoError(t, err)
		assert.Equal(t, before, after)
		require.NoError(t, run([]string{"-replace", path}, &out, io.Discard))
		after, err = os.ReadFile(filepath.Join(folder, "results.json"))
		require.NoError(t, err)
		assert.Equal(t, string(before), string(after), "the same recordings give the same results, to the byte")
	})

	// From here on the recordings are spoilt, one after the other, in a folder
	// without a report, and nothing is measured but the response.
	edit(t, folder, func(s string) string { return s[:strings.Index(s, "# 94 dB SPL")] })
	for _, name := range report.Files {
		require.NoError(t, os.Remove(filepath.Join(folder, name)))
	}
	t.Run("one bad seating and one bad tune are left out", func(t *testing.T) {
		spoilt := copied(t, folder)
		remove("seating-2.wav")(t, spoilt)
		edit(t, spoilt, func(s string) string {
			return s + "\n[[programme]]\nname = \"a tune\"\ndirect = { file = \"direct.wav\" }\nthrough = { file = \"none.wav\" }\n"
		})
		var said bytes.Buffer
		require.NoError(t, run([]string{spoilt}, &said, io.Discard))
		assert.Contains(t, said.String(), "unfit: seating-2.wav: cannot be used, so seating 2 is left out: file does not exist")
		assert.Contains(t, said.String(), "unfit: a tune is not compared: none.wav: file does not exist")
		page, err := os.ReadFile(filepath.Join(spoilt, "report.html"))
		require.NoError(t, err)
		assert.Contains(t, string(page), "seating 2 is left out")
	})
	for _, c := range []struct {
		name  string
		spoil func(t *testing.T, folder string)
		is    error
		says  []string
	}{
		{"a recording is missing", remove("direct.wav"), fs.ErrNotExist, []string{"direct.wav"}},
		{"a recording is empty", replaced("direct.wav", nil), capture.ErrEmpty, []string{"direct.wav"}},
		{"a recording is a text", replaced("direct.wav", []byte("This is not a recording, it is a text about one.")), capture.ErrNotWAV, []string{"direct.wav"}},
		{"a recording is cut short", cutShort("direct.wav"), capture.ErrTruncated, []string{"direct.wav"}},
		{"no recording of the headphones is left", both(remove("seating-1.wav"), cutShort("seating-2.wav")), fs.ErrNotExist, []string{"seating-1.wav", "seating-2.wav", "cut short"}},
		{"a recording is of another sweep", func(t *testing.T, folder string) {
			edit(t, folder, func(s string) string { return strings.Replace(s, "seconds = 1\n", "seconds = 4\n", 1) })
		}, fitness.ErrUnfit, []string{"direct.wav", "does not hold the stated stimulus", "1.036 in the recording"}},
		{"a target with a word", withTarget("100 1\n200 loud\n"), nil, []string{"target.txt", "line 2", "loud"}},
		{"an unknown key", func(t *testing.T, folder string) {
			edit(t, folder, func(s string) string { return strings.Replace(s, "ceiling", "cieling", 1) })
		}, nil, []string{"session.toml", "rig.cieling", "rig.ceiling"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			spoilt := copied(t, folder)
			c.spoil(t, spoilt)
			err := run([]string{spoilt}, &out, io.Discard)
			require.Error(t, err)
			if c.is != nil {
				assert.ErrorIs(t, err, c.is)
			}
			for _, words := range c.says {
				assert.Contains(t, err.Error(), words)
			}
			assert.Empty(t, reports(t, spoilt), "nothing half-written is left")
		})
	}
}

func both(first, second func(*testing.T, string)) func(*testing.T, string) {
	return func(t *testing.T, folder string) { first(t, folder); second(t, folder) }
}

func remove(name string) func(*testing.T, string) {
	return func(t *testing.T, folder string) { require.NoError(t, os.Remove(filepath.Join(folder, name))) }
}

func replaced(name string, data []byte) func(*testing.T, string) {
	return func(t *testing.T, folder string) {
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), data, 0o644))
	}
}

func cutShort(name string) func(*testing.T, string) {
	return func(t *testing.T, folder string) {
		path := filepath.Join(folder, name)
		about, err := os.Stat(path)
		require.NoError(t, err)
		require.NoError(t, os.Truncate(path, about.Size()/2))
	}
}

func withTarget(text string) func(*testing.T, string) {
	return func(t *testing.T, folder string) {
		require.NoError(t, os.WriteFile(filepath.Join(folder, "target.txt"), []byte(text), 0o644))
		edit(t, folder, func(s string) string { return strings.Replace(s, "[target]", "[target]\nfile = \"target.txt\"", 1) })
	}
}

// copied is a copy of a folder.
func copied(t *testing.T, folder string) string {
	to := t.TempDir()
	require.NoError(t, os.CopyFS(to, os.DirFS(folder)))
	return to
}

func TestHelpIsNoError(t *testing.T) {
	assert.True(t, errors.Is(run([]string{"-h"}, &bytes.Buffer{}, io.Discard), flag.ErrHelp))
}

// The steps of a review add up to its total, so that the progress bar is full when the review ends.
func TestStepsComeToTheWhole(t *testing.T) {
	s, err := session.Decode([]byte(`
headphones = { name = "a" }
rig = { name = "r" }
direct = { file = "direct.wav" }
seating = [{ left = { file = "1.wav" } }, { left = { file = "2.wav" } }]
programme = [{ name = "tune", direct = { file = "d.wav" }, through = { file = "t.wav" } }]
rival = [{ session = "other.toml" }]
`))
	require.NoError(t, err)
	sum := 0
	for _, step := range []string{"checking the files of the session", "reading direct.wav", "reading 1.wav", "reading 2.wav",
		"direct recording direct.wav", "checking whether the recordings are fit to use", "reading d.wav", "reading t.wav",
		"measuring 2 seatings", "measuring another", "judging", "writing the report"} {
		sum += workOfStep(s, step)
	}
	assert.InDelta(t, workOf(s), sum, workOfReading, "the step by step sum")
}
