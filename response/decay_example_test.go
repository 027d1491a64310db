package response_test

import (
	"fmt"
	"math"

	"example.com/earnest/response"
)

// A resonance at 3.15 kHz that loses 60 dB in 20 ms; nothing else rings.
func ExampleImpulse_Decays() {
	const rate = 48000
	h := &response.Impulse{Samples: make([]float64, rate), SampleRate: rate, Zero: 0, Valid: response.Band{Low: 20, High: 20000}}
	h.Samples[0] = 1
	for i := range h.Samples {
		t := h.Time(i)
		h.Samples[i] += 0.1 * math.Pow(1000, -t/0.020) * math.Sin(2*math.Pi*3150*t)
	}
	decays, err := h.Decays(response.DecayConfig{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, d := range decays {
		if d.Band.Nominal != 3150 && d.Band.Nominal != 1000 {
			continue
		}
		if t, reason := d.To(-40); t.Known() {
			fmt.Printf("%4.0f Hz  40 dB in %.0f ms\n", d.Band.Nominal, 1000*t.Value)
		} else {
			fmt.Printf("%4.0f Hz  not known: %s\n", d.Band.Nominal, reason)
		}
	}
	// Output:
	// 1000 Hz  not known: the band's own filter rings as long
	// 3150 Hz  40 dB in 13 ms
}

// A first-order high pass at 100 Hz, as of headphones that leak: the step falls to 1/e after 1/(2π
// 100) s.
func ExampleImpulse_Step() {
	const rate = 48000
	a := math.Exp(-2 * math.Pi * 100 / rate)
	h := &response.Impulse{Samples: make([]float64, rate/10), SampleRate: rate}
	h.Samples[0] = a
	for i := 1; i < len(h.Samples); i++ {
		h.Samples[i] = -(1 - a) * math.Pow(a, float64(i))
	}
	step := h.Step(nil)
	for _, i := range []int{0, 76, 480} {
		fmt.Printf("%5.2f ms  %.3f\n", 1000*h.Time(i), step[i])
	}
	// Output:
	//  0.00 ms  0.987
	//  1.58 ms  0.365
	// 10.00 ms  0.002
}
