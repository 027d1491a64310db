//go:build !race

package change_test

import (
	"fmt"

	"example.com/earnest/target/change"
)

// How many seatings show a change of half a decibel?
func ExampleNewPlan() {
	plan, err := change.NewPlan(fourTimes(), change.Config{})
	if err != nil {
		fmt.Println(err)
		return
	}
	named, anywhere := plan.Least(5, 0.8)
	fmt.Printf("5 of each: %.2f dB at 1 kHz if it is named beforehand, %.2f dB if it is found anywhere\n",
		named.At(1000), anywhere.At(1000))
	// Output:
	// 5 of each: 0.25 dB at 1 kHz if it is named beforehand, 0.37 dB if it is found anywhere
}
