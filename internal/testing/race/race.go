// Package race reports whether the race detector runs, which makes everything some ten times
// slower. Tests of accuracy then take fewer cases, since a race shows in the first few as well, or
// are left to the run without it.
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
