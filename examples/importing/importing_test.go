// Package importing compiles the program that README.md shows, in a module of
// its own, as a stranger would who imports earnest.
package importing

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// program is the Go block of README.md.
func program(t *testing.T, root string) string {
	readme, err := os.ReadFile(filepath.Join(root, "README.md"))
	require.NoError(t, err)
	_, after, found := strings.Cut(string(readme), "```go\n")
	require.True(t, found, "README.md shows a program")
	code, _, found := strings.Cut(after, "```")
	require.True(t, found)
	return code
}

func TestReadmeProgramCompilesInAnotherModule(t *testing.T) {
	root, err := filepath.Abs("../..")
	require.NoError(t, err)
	scratch := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(scratch, "main.go"), []byte(program(t, root)), 0o644))
	sums, err := os.ReadFile(filepath.Join(root, "go.sum"))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(scratch, "go.sum"), sums, 0o644))
	run := func(args ...string) {
		command := exec.Command("go", args...)
		command.Dir = scratch
		// Everything is in the module cache already: the tests compile with it.
		command.Env = append(os.Environ(), "GOFLAGS=-mod=mod", "GOPROXY=off", "GOWORK=off")
		out, err := command.CombinedOutput()
		require.NoError(t, err, "go %s: %s", strings.Join(args, " "), out)
	}
	run("mod", "init", "example.org/my-review")
	run("mod", "edit", "-require", "example.com/earnest@v0.0.0", "-replace", "example.com/earnest="+root)
	run("build", "-o", filepath.Join(scratch, "review"), ".")
}
