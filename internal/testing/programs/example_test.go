package programs_test

import (
	"fmt"
	"os"

	"example.com/earnest/internal/testing/programs"
)

// A test first names the programs that it needs. Without them it is skipped.
func ExampleNeed() {
	os.Unsetenv(programs.Required)
	t := &listener{} // in place of a *testing.T
	programs.Need(t, "a-program-that-nobody-has")
	fmt.Println(t.said)
	// Output: skip: a-program-that-nobody-has is not installed
}
