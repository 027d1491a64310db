// Package long leaves tests of many draws to the runs that ask for them, so that the whole suite
// answers in two minutes.
package long

import (
	"os"
	"testing"

	"example.com/earnest/internal/testing/race"
)

// Variable is what the environment has when long tests run.
const Variable = "EARNEST_LONG_TESTS"

// Enabled tells whether long tests run: they were asked for, and the race detector does not run.
func Enabled() bool { return os.Getenv(Variable) != "" && !race.Enabled }

// Skip leaves a test to the runs with EARNEST_LONG_TESTS=1 and without the race detector. The
// project's checks have such a run.
func Skip(t testing.TB) {
	t.Helper()
	if !Enabled() {
		t.Skipf("long; runs with %s=1", Variable)
	}
}
