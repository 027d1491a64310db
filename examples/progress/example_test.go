package progress_test

import (
	"fmt"
	"os"

	"example.com/earnest/examples/progress"
)

// A file is not a terminal: nothing is written.
func Example() {
	bar := progress.New(os.Stdout, 2, "sessions")
	for _, name := range []string{"wren", "ardle"} {
		bar.Describe("measuring " + name)
		bar.Add(1)
	}
	bar.Finish()
	fmt.Println(bar == nil)
	// Output: true
}
