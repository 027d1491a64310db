// Package long leaves tests of many draws to the runs that ask for them, so that the whole suite
// takes two minutes.
package long

import (
	"os"
	"testing"

	"example.com/earnest/internal/testing/race"
)

// Variable is set in the environment if long tests are to run.
const Variable = "EARNEST_LONG_TESTS"

// Enabled reports whether long tests run: they were asked for, and the race detector does not run.
func Enabled() bool { return os.Getenv(Variable) != "" && !race.Enabled }

// Skip skips a test except in runs with EARNEST_LONG_TESTS=1 and without the race detector. The
// project's checks have such a run.
func Skip(t testing.TB) {
	t.Helper()
	if !Enabled() {
		t.Skipf("long; runs with %s=1", Variable)
	}
}
