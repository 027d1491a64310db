package loudness_test

import (
	"fmt"
	"log"
	"math"

	"example.com/earnest/response/programme/loudness"
)

// A tone of 1 kHz at −23 dBFS in both channels is −23 LUFS.
func Example() {
	tone := make([]float64, 5*48000)
	for i := range tone {
		tone[i] = math.Pow(10, -23./20) * math.Sin(2*math.Pi*1000*float64(i)/48000)
	}
	l, err := loudness.Measure([][]float64{tone, tone}, 48000)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%.1f LUFS, %.1f dBTP\n", l.Integrated, l.TruePeak)
	// Output: -23.0 LUFS, -23.0 dBTP
}
