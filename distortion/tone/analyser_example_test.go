package tone_test

import (
	"fmt"
	"math"

	"example.com/earnest/distortion/tone"
)

// Many recordings at one sample rate share an analyser, which may be used by many goroutines.
func ExampleNewAnalyser() {
	analyser, err := tone.NewAnalyser(48000, tone.Config{Frequency: 1000, Orders: 3})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, amplitude := range []float64{0.1, 0.2, 0.4} {
		recording := make([]float64, 48000)
		for i := range recording {
			x := amplitude * math.Sin(2*math.Pi*1000*float64(i)/48000)
			recording[i] = x + 0.01*x*x // the square of a sine of amplitude A is half of it, twice as high: 0.005 A
		}
		r, err := analyser.Analyse(recording)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%.0f dBFS: %.2f %%\n", r.Level.Value, r.THD.Value)
	}
	// Output:
	// -20 dBFS: 0.05 %
	// -14 dBFS: 0.10 %
	// -8 dBFS: 0.20 %
}
