package biquad_test

import (
	"fmt"
	"math"
	"math/cmplx"

	"example.com/earnest/internal/biquad"
)

// A device with a resonance and a weak bass, and its true response.
func Example() {
	device := biquad.Chain{
		biquad.New(biquad.Peaking, 3000, 3, 6, 48000),
		biquad.New(biquad.LowShelf, 120, 0.7, -5, 48000),
	}
	for _, f := range []float64{20, 120, 1000, 3000} {
		fmt.Printf("%4g Hz %+.2f dB\n", f, 20*math.Log10(cmplx.Abs(device.Response(f, 48000))))
	}
	// Output:
	//   20 Hz -4.99 dB
	//  120 Hz -2.50 dB
	// 1000 Hz +0.09 dB
	// 3000 Hz +6.00 dB
}
