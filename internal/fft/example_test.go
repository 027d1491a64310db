package fft_test

import (
	"fmt"
	"math/cmplx"

	"example.com/earnest/internal/fft"
)

// A cosine of two cycles is in bin 2, with half of its amplitude times the length.
func Example() {
	p := fft.NewPlan(8)
	x := []float64{1, 0, -1, 0, 1, 0, -1, 0}
	for k, v := range p.Forward(nil, x) {
		fmt.Printf("bin %d: %.0f\n", k, cmplx.Abs(v))
	}
	// Output:
	// bin 0: 0
	// bin 1: 0
	// bin 2: 4
	// bin 3: 0
	// bin 4: 0
}

// A fast length for a number of samples.
func ExampleFastLen() {
	fmt.Println(fft.FastLen(281836 + 96000))
	// Output: 384000
}
