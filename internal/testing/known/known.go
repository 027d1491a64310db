// Package known is for tests that compare the library with values that other programs have
// computed, kept in testdata/reference.
package known

import (
	"encoding/json"
	"os"
	"path/filepath"
)

// Test is the part of *testing.T, *testing.B or *testing.F that Values uses.
type Test interface {
	Helper()
	Fatalf(format string, args ...any)
}

// Values reads a file of testdata/reference, such as "biquad.json". An error ends the test.
func Values(t Test, name string, into any) {
	t.Helper()
	data, err := read(filepath.Join("testdata", "reference", name))
	if err == nil {
		err = json.Unmarshal(data, into)
	}
	if err != nil {
		t.Fatalf("known: %s: %v", name, err)
	}
}

// read reads a file named from the top of the module, where go.mod is.
func read(name string) ([]byte, error) {
	folder, err := os.Getwd()
	if err != nil {
		return nil, err
	}
	for {
		if _, err := os.Stat(filepath.Join(folder, "go.mod")); err == nil {
			return os.ReadFile(filepath.Join(folder, name))
		}
		above := filepath.Dir(folder)
		if above == folder {
			return nil, os.ErrNotExist
		}
		folder = above
	}
}
