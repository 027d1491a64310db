// Package known is for tests that hold the library against values which other
// programs have computed and testdata/reference keeps.
package known

import (
	"encoding/json"
	"os"
	"path/filepath"
)

// Test is what Values uses of a *testing.T, *testing.B or *testing.F.
type Test interface {
	Helper()
	Fatalf(format string, args ...any)
}

// Values reads a file of testdata/reference, such as "biquad.json". Whatever is wrong
// with it ends the test.
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
