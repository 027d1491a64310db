// Package race tells whether the race detector runs, which makes everything some
// ten times slower: tests of accuracy then take fewer cases, for a race shows in
// the first few as well as in all, or are left to the run without it.
package race

import "testing"

// Skip leaves a long test to the run without the race detector, where others run
// the same code.
func Skip(t testing.TB) {
	t.Helper()
	if Enabled {
		t.Skip("long under the race detector; runs without it")
	}
}
