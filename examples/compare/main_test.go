package main

import (
	"bytes"
	"example.com/earnest/internal/testing/long"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/demo"
)

func TestCompareRanksSessions(t *testing.T) {
	long.Skip(t)
	folder := t.TempDir()
	require.NoError(t, demo.Write(folder, demo.Options{Seconds: 1, Seatings: 2, Material: -1}, func(string) {}))
	var out bytes.Buffer
	sessions := []string{folder, filepath.Join(folder, "tarrowby"), filepath.Join(folder, "ollerthwaite")}
	require.NoError(t, run(sessions, &out, io.Discard))
	// The invented pairs were made to deviate by about 1, 2 and 3 dB.
	first, second, third := bytes.Index(out.Bytes(), []byte("Tarrowby")), bytes.Index(out.Bytes(), []byte("Wexcombe")), bytes.Index(out.Bytes(), []byte("Ollerthwaite"))
	assert.True(t, 0 <= first && first < second && second < third, out.String())

	path := filepath.Join(folder, "tarrowby", "session.toml")
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	_, after, found := strings.Cut(string(text), "[rig]")
	require.True(t, found)
	_, after, _ = strings.Cut(after, "\nname")
	_, after, _ = strings.Cut(after, "\n")
	before, _, _ := strings.Cut(string(text), "[rig]")
	require.NoError(t, os.WriteFile(path, []byte(before+"[rig]\nname = \"another plate\"\n"+after), 0o644))
	var steps bytes.Buffer
	assert.ErrorContains(t, run(sessions, &out, &steps), "-other-rig", "the flag that allows it")
	assert.Empty(t, steps.String(), "said before anything is measured")

	assert.ErrorContains(t, run(sessions[:1], &out, io.Discard), "name two or more")
	assert.ErrorIs(t, run([]string{folder, filepath.Join(folder, "nobody")}, &out, io.Discard), fs.ErrNotExist)
}
