package long_test

import (
	"fmt"

	"example.com/earnest/internal/testing/long"
)

// The long tests run with this variable in the environment.
func Example() {
	fmt.Println(long.Variable + "=1 go test ./...")
	// Output: EARNEST_LONG_TESTS=1 go test ./...
}
