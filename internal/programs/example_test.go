package programs_test

import (
	"os"

	"example.com/earnest/internal/programs"
)

// A test begins with the programs it needs, and ends there without them.
func ExampleNeed() {
	os.Unsetenv(programs.Required)
	t := &printing{}
	programs.Need(t, "a-program-that-nobody-has")
	// Output: skipped: a-program-that-nobody-has is not installed
}
