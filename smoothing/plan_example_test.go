package smoothing_test

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/smoothing"
)

// A plan is made once for a grid and smooths every curve on it. A narrow dip keeps its energy and
// loses its depth.
func ExampleNewOctave() {
	frequency := floats.LogSpan(make([]float64, 1001), 20, 20000)
	level := make([]float64, len(frequency))
	for i, f := range frequency {
		level[i] = -20 * math.Exp(-math.Pow(math.Log2(f/1000)/0.05, 2)) // 20 dB deep
	}
	for _, fraction := range []float64{24, 6, 1} {
		plan, err := smoothing.NewOctave(frequency, nil, fraction)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("1/%v octave: %.1f dB\n", fraction, floats.Min(plan.Mean(nil, level)))
	}
	// Output:
	// 1/24 octave: -18.7 dB
	// 1/6 octave: -10.4 dB
	// 1/1 octave: -1.8 dB
}

// The ear's own filters are narrower than a third of an octave, except in the bass.
func ExampleNewERB() {
	frequency := floats.LogSpan(make([]float64, 1001), 20, 20000)
	power := make([]float64, len(frequency))
	power[500] = 1 // a single line
	plan, err := smoothing.NewERB(frequency, nil, 1)
	if err != nil {
		fmt.Println(err)
		return
	}
	smoothed, wide := plan.Mean(nil, power), 0
	for _, v := range smoothed {
		if v > 0 {
			wide++
		}
	}
	line := frequency[500]
	fmt.Printf("a line at %.0f Hz spreads over %.2f octaves; a third of an octave is %.2f\n", line,
		float64(wide)*math.Log2(frequency[1]/frequency[0]), 1.0/3)
	// Output:
	// a line at 632 Hz spreads over 0.23 octaves; a third of an octave is 0.33
}
