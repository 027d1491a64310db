package response_test

import (
	"fmt"
	"math/rand/v2"

	"example.com/earnest/response"
)

// White noise of 0.001 rms, −60 dBFS, spread over 24 kHz: a tenth of the band holds a tenth of the
// power.
func ExampleNewNoise() {
	random := rand.New(rand.NewPCG(1, 2))
	silence := make([]float64, 10*48000)
	for i := range silence {
		silence[i] = 0.001 * random.NormFloat64()
	}
	noise, err := response.NewNoise(silence, 48000)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("from 20 Hz to 20 kHz: %.1g\n", noise.Power(response.Band{Low: 20, High: 20000}))
	fmt.Printf("from 1 to 3.4 kHz: %.1g\n", noise.Power(response.Band{Low: 1000, High: 3400}))
	fmt.Printf("four sweeps averaged: %.1g\n", noise.Averaged(4).Power(response.Band{Low: 20, High: 20000}))
	// Output:
	// from 20 Hz to 20 kHz: 8e-07
	// from 1 to 3.4 kHz: 1e-07
	// four sweeps averaged: 2e-07
}
