package race_test

import (
	"fmt"

	"example.com/earnest/internal/testing/race"
)

// A test of accuracy takes fewer cases under the race detector.
func Example() {
	cases := 200
	if race.Enabled {
		cases = 20
	}
	fmt.Println(cases >= 20)
	// Output: true
}
