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
	for _, seatings := range []int{3, 5, 8} {
		named, anywhere := plan.Least(seatings, 0.8)
		fmt.Printf("%d of each: %.2f dB at 1 kHz if it is named beforehand, %.2f dB if it is found anywhere\n",
			seatings, named.At(1000), anywhere.At(1000))
	}
	// Output:
	// 3 of each: 0.42 dB at 1 kHz if it is named beforehand, 0.71 dB if it is found anywhere
	// 5 of each: 0.25 dB at 1 kHz if it is named beforehand, 0.37 dB if it is found anywhere
	// 8 of each: 0.19 dB at 1 kHz if it is named beforehand, 0.25 dB if it is found anywhere
}
