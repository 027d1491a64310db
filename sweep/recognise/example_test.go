package recognise_test

import (
	"fmt"
	"math"

	"example.com/earnest/sweep/recognise"
)

// A sweep from 30 Hz to 15 kHz in two seconds that begins at its crest, as another program made it.
func ExampleFind() {
	const rate, seconds = 48000, 2
	x := make([]float64, seconds*rate)
	for i := range x {
		grown := math.Exp(float64(i)/rate/seconds*math.Log(500)) - 1
		x[i] = 0.5 * math.Cos(2*math.Pi*30*seconds/math.Log(500)*grown)
	}
	for _, found := range recognise.Find([][]float64{x}, rate) {
		fmt.Println(found)
	}
	// Output:
	// channel 1, 0.000 s: exponential sweep, 30 Hz to 15000 Hz in 2.000 s, from 90.0°, peak -6.02 dBFS; its law bears out 100 % of the power, and all but -150 dB with one level
}
