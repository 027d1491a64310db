package drawn_test

import (
	"fmt"

	"example.com/earnest/internal/testing/drawn"
	"example.com/earnest/response/capture"
)

// The same bytes make the same value.
func Example() {
	var a, b capture.Format
	drawn.From([]byte("bytes of a fuzz run")).Fill(&a)
	drawn.From([]byte("bytes of a fuzz run")).Fill(&b)
	fmt.Println(a == b)
	// Output: true
}
