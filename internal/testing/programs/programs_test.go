package programs_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/programs"
)

// listener records the calls of a test.
type listener struct{ said string }

func (l *listener) Helper() {}
func (l *listener) Skipf(format string, args ...any) {
	l.said = "skip: " + fmt.Sprintf(format, args...)
}
func (l *listener) Fatalf(format string, args ...any) {
	l.said = "fail: " + fmt.Sprintf(format, args...)
}

func TestNeed(t *testing.T) {
	folder := t.TempDir()
	installed := filepath.Join(folder, "tool")
	require.NoError(t, os.WriteFile(installed, []byte("#!/bin/sh\n"), 0o755))
	t.Setenv("PATH", folder)
	for _, row := range []struct{ name, program, required, path, said string }{
		{"installed", "tool", "", installed, ""},
		{"installed and asked for", "tool", "1", installed, ""},
		{"missing", "no-such", "", "", "skip: no-such is not installed"},
		{"missing and not asked for", "no-such", "0", "", "skip: no-such is not installed"},
		{"missing and asked for", "no-such", "1", "", "fail: no-such is not installed, and EARNEST_REQUIRE_PROGRAMS asks for it: apt-get install no-such"},
		{"in a package of another name", "mysofa2json", "1", "", "fail: mysofa2json is not installed, and EARNEST_REQUIRE_PROGRAMS asks for it: apt-get install libmysofa-utils"},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Setenv(programs.Required, row.required)
			l := &listener{}
			assert.Equal(t, row.path, programs.Need(l, row.program))
			assert.Equal(t, row.said, l.said)
		})
	}
}

func TestNeedLibrary(t *testing.T) {
	python := programs.Need(t, "/usr/bin/python3")
	l := &listener{}
	assert.Equal(t, python, programs.NeedLibrary(l, "libc.so.6"))
	assert.Empty(t, l.said)
	t.Setenv(programs.Required, "1")
	assert.Empty(t, programs.NeedLibrary(l, "libnone.so.3"))
	assert.Equal(t, "fail: libnone.so.3 is not installed, and EARNEST_REQUIRE_PROGRAMS asks for it: apt-get install libnone-3", l.said)
}
