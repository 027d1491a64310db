package known_test

import (
	"fmt"

	"example.com/earnest/internal/testing/known"
)

// printing stands for a *testing.T.
type printing struct{}

func (printing) Helper()                           {}
func (printing) Fatalf(format string, args ...any) { fmt.Printf(format+"\n", args...) }

func Example() {
	var filters []struct{ Shape string }
	known.Values(printing{}, "biquad.json", &filters)
	fmt.Println(filters[0].Shape)
	// Output: peaking
}
