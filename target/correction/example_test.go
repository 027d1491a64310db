package correction_test

import (
	"fmt"

	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/correction"
)

// A pair with too little level about 200 Hz and a peak at 6 kHz is made nearly flat.
func ExampleFit() {
	pair := []correction.Filter{
		{Shape: correction.Peaking, Frequency: 200, Gain: -4, Q: 0.8},
		{Shape: correction.Peaking, Frequency: 6000, Gain: 6, Q: 3},
	}
	c := response.Curve{Frequency: response.LogGrid(20, 20000, 24), Valid: response.Band{Low: 20, High: 20000}}
	for _, f := range c.Frequency {
		c.Level = append(c.Level, pair[0].Level(f, 48000)+pair[1].Level(f, 48000))
	}
	k, err := correction.Fit([]response.Curve{c}, target.Flat(), target.Config{}, correction.Config{Filters: 3})
	if err != nil {
		panic(err)
	}
	for _, f := range k.Filters {
		fmt.Println(f)
	}
	fmt.Printf("rms before %.1f dB, after %.1f dB; preamp %.1f dB\n", k.Before.RMS.Value, k.After.RMS.Value, k.Preamp)
	at96k, err := k.Filters[0].Coefficients(96000)
	if err != nil {
		panic(err)
	}
	fmt.Printf("at 96 kHz b0 %.4f, b1 %.4f, b2 %.4f, a1 %.4f, a2 %.4f\n", at96k.B0, at96k.B1, at96k.B2, at96k.A1, at96k.A2)
	// Output:
	// peaking at 200 Hz, +4.0 dB, Q 0.80
	// peaking at 6000 Hz, -6.0 dB, Q 3.00
	// rms before 1.8 dB, after 0.0 dB; preamp -4.0 dB
	// at 96 kHz b0 1.0038, b1 -1.9869, b2 0.9833, a1 -1.9869, a2 0.9871
}
