package importing

import (
	"bufio"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/demo"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/programs"
)

// manual lists the pages of the manual in the order of the work.
var manual = []string{"examples/review/README.md", "examples/review/plan.md", "examples/review/record.md",
	"examples/review/check.md", "examples/review/measure.md", "examples/review/read.md", "examples/review/publish.md",
	"examples/importing/README.md", "examples/workshop/README.md"}

// mostLines is the length of two screens. The page about importing holds a program of 55 lines
// beside it.
const mostLines = 80

func TestManualHasAPageForEachTask(t *testing.T) {
	index := readPage(t, filepath.Join(root(t), manual[0]))
	readme := readPage(t, filepath.Join(root(t), "README.md"))
	for _, name := range manual {
		p := readPage(t, filepath.Join(root(t), name))
		if name != manual[0] {
			to, err := filepath.Rel(filepath.Dir(index.path), p.path)
			require.NoError(t, err)
			assert.Contains(t, index.text, "]("+filepath.ToSlash(to)+")")
		}
		assert.Contains(t, readme.text, "]("+name+")")
		lines := strings.Count(p.text, "\n")
		for _, program := range p.blocks("go") {
			lines -= strings.Count(program, "\n")
		}
		assert.LessOrEqual(t, lines, mostLines, name)
	}
}

// TestManualRuns runs every command of the manual in one folder, page by page, as a reader does who
// has recorded in between. The recordings of the demonstration are used in place of the reader's.
func TestManualRuns(t *testing.T) {
	long.Skip(t)
	m := &machine{t: t, folder: t.TempDir(), binaries: t.TempDir()}
	ran := 0
	for _, name := range manual {
		p := readPage(t, filepath.Join(root(t), name))
		if name == "examples/importing/README.md" {
			continue // TestProgramWithoutSession runs it, and TestReportOfTheReadme its commands
		}
		for _, block := range p.blocks("sh") {
			for _, words := range shell(block) {
				m.page = name
				m.run(words)
				ran++
			}
		}
		if name == "examples/review/plan.md" {
			m.record("my-pair", demo.Options{Seconds: 1.5, Seatings: 2, Alone: true, Material: 12})
			m.record("other-pair", demo.Options{Seconds: 1.5, Seatings: 2, Alone: true, Material: -1})
		}
	}
	assert.Greater(t, ran, 12)
	for _, file := range []string{"my-pair/report.html", "my-pair/report-de.html", "my-pair/listening.html",
		"my-pair/pictures", "my-pair-more/stimulus.wav", "results.jsonl"} {
		_, err := os.Stat(filepath.Join(m.folder, file))
		assert.NoError(t, err)
	}
}

// machine runs the commands of a page in a folder.
type machine struct {
	t                      *testing.T
	folder, binaries, page string
}

// record puts recordings and their session file into a folder, beside what is there.
func (m *machine) record(name string, o demo.Options) {
	made := m.t.TempDir()
	require.NoError(m.t, demo.Write(made, o, func(string) {}))
	to := filepath.Join(m.folder, name)
	require.NoError(m.t, os.MkdirAll(to, 0o755))
	entries, err := os.ReadDir(made)
	require.NoError(m.t, err)
	for _, e := range entries {
		data, err := os.ReadFile(filepath.Join(made, e.Name()))
		require.NoError(m.t, err)
		if e.Name() == "session.toml" { // the stimulus of the demonstration is another one
			require.NoError(m.t, os.RemoveAll(filepath.Join(to, "stimulus.wav")))
		}
		require.NoError(m.t, os.WriteFile(filepath.Join(to, e.Name()), data, 0o644))
	}
}

// program builds a program of this module once.
func (m *machine) program(folder string) string {
	path := filepath.Join(m.binaries, filepath.Base(folder))
	if _, err := os.Stat(path); err == nil {
		return path
	}
	build := exec.Command("go", "build", "-o", path, folder)
	build.Dir = root(m.t)
	out, err := build.CombinedOutput()
	require.NoError(m.t, err, "%s: go build %s: %s", m.page, folder, out)
	return path
}

// run runs a command. A program of this module is built before; one that serves a page is stopped
// once it answers.
func (m *machine) run(words []string) {
	to := ""
	if i := slices.Index(words, ">"); i >= 0 {
		words, to = words[:i], words[i+1]
	}
	command := strings.Join(words, " ")
	if words[0] == "go" {
		switch words[1] {
		case "run":
			words = append([]string{m.program(words[2])}, words[3:]...)
		case "build":
			i := slices.Index(words, "-o")
			require.GreaterOrEqual(m.t, i, 0, command)
			require.NoError(m.t, os.Symlink(m.program(words[i+2]), filepath.Join(m.folder, words[i+1])))
			return
		case "test":
			m.t.Logf("%s: not run within a test: %s", m.page, command)
			return
		}
	} else if !strings.HasPrefix(words[0], "./") {
		programs.Need(m.t, words[0])
	}
	if slices.Contains(words, "-watch") || filepath.Base(words[0]) == "workshop" {
		m.serve(command, words)
		return
	}
	c := exec.Command(words[0], words[1:]...)
	c.Dir = m.folder
	out, err := c.Output()
	require.NoError(m.t, err, "%s: %s: %s", m.page, command, stderr(err))
	if to != "" {
		require.NoError(m.t, os.WriteFile(filepath.Join(m.folder, to), out, 0o644))
	}
}

// serve starts a program that serves a page, waits for the address, and interrupts it. Any free
// port takes the place of the usual one, which may be in use.
func (m *machine) serve(command string, words []string) {
	if !slices.Contains(words, "-port") {
		words = append(words, "-port", "0")
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	c := exec.CommandContext(ctx, words[0], words[1:]...)
	c.Dir = m.folder
	out, err := c.StdoutPipe()
	require.NoError(m.t, err)
	require.NoError(m.t, c.Start(), "%s: %s", m.page, command)
	line, err := bufio.NewReader(out).ReadString('\n')
	assert.NoError(m.t, err, "%s: %s", m.page, command)
	assert.Regexp(m.t, regexp.MustCompile(`http://127\.0\.0\.1:\d+/`), line, "%s: %s", m.page, command)
	require.NoError(m.t, c.Process.Signal(os.Interrupt))
	assert.NoError(m.t, c.Wait(), "%s: %s", m.page, command)
}

// stderr returns what a failed command wrote to standard error.
func stderr(err error) string {
	if failed, ok := err.(*exec.ExitError); ok {
		return string(failed.Stderr)
	}
	return ""
}
