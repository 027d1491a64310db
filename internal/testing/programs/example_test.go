package programs_test

import (
	"fmt"
	"os"

	"example.com/earnest/internal/testing/programs"
)

// A test begins with the programs it needs, and ends there without them.
func ExampleNeed() {
	os.Unsetenv(programs.Required)
	t := &listener{} // in place of a *testing.T
	programs.Need(t, "a-program-that-nobody-has")
	fmt.Println(t.said)
	// Output: skip: a-program-that-nobody-has is not installed
}
