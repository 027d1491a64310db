package target_test

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"example.com/earnest/response"
	"example.com/earnest/target"
)

// A pair that falls by half a decibel per octave, with a peak at 6 kHz.
func brightPair() response.Curve {
	frequency := response.LogGrid(10, 24000, 24)
	level := make([]float64, len(frequency))
	for i, f := range frequency {
		peak := math.Log2(f/6000) / 0.3
		level[i] = 94 - 0.5*math.Log2(f/1000) + 6*math.Exp(-peak*peak/2)
	}
	c, err := response.NewCurve(frequency, level)
	if err != nil {
		panic(err)
	}
	c.Rig = "flat plate"
	return c
}

func Example() {
	d, err := target.Compare(brightPair(), target.Flat(), target.Options{})
	if err != nil {
		panic(err)
	}
	fmt.Println("judged over  ", d.Band)
	fmt.Println("rms          ", d.RMS)
	fmt.Println("tilt         ", d.Tilt)
	fmt.Println("ripple       ", d.Ripple)
	fmt.Printf("within ±3 dB  %.0f %%\n", 100*d.Share.Value)
	fmt.Println("furthest away", d.Widest)
	// Output:
	// judged over   20 Hz–20 kHz
	// rms           1.52 dB
	// tilt          -0.32 dB/octave
	// ripple        1.20 dB
	// within ±3 dB  97 %
	// furthest away +3.93 dB at 5.99 kHz (at least half of it over 4.95 kHz–7.17 kHz)
}

// A target from a file belongs to a rig. On another it is refused, and when it
// is used all the same the result says so.
func ExampleCompare_otherRig() {
	house, err := target.Read(strings.NewReader(`
# rig: ear simulator
20     4
200    0
20000 -4
`), "house curve")
	if err != nil {
		panic(err)
	}
	_, err = target.Compare(brightPair(), house, target.Options{})
	fmt.Println(errors.Is(err, response.ErrOtherRig))

	d, err := target.Compare(brightPair(), house, target.Options{AllowOtherRig: true})
	if err != nil {
		panic(err)
	}
	fmt.Println(d.Warnings[0])
	// Output:
	// true
	// the response was measured on "flat plate" and the target "house curve" belongs to "ear simulator": what the rigs do differently is in every figure
}

// Another pair measured on the same rig is the target that always holds.
func ExampleFromPair() {
	trusted, err := response.ReadCurve(strings.NewReader(`
# rig: flat plate
100    95
1000   94
10000  91
`), "trusted.txt")
	if err != nil {
		panic(err)
	}
	t, err := target.FromPair("the trusted pair", trusted)
	if err != nil {
		panic(err)
	}
	t.Tolerance = target.PlusMinus(1.5)
	d, err := target.Compare(brightPair(), t, target.Options{Weight: target.PerERB, Align: target.AlignAt(1000)})
	if err != nil {
		panic(err)
	}
	fmt.Println(d.Warnings[0])
	for _, o := range d.Octaves[6:] {
		fmt.Println(o)
	}
	// Output:
	// asked to judge 20 Hz–20 kHz, judged 100 Hz–10 kHz: the response is known over 10.1 Hz–24 kHz and the target "the trusted pair" over 100 Hz–10 kHz
	// 1 kHz: mean +0.08 dB, rms 0.09 dB
	// 2 kHz: mean +0.40 dB, rms 0.42 dB
	// 4 kHz: mean +2.53 dB, rms 3.20 dB
	// 8 kHz: mean +4.50 dB, rms 4.91 dB (83 % of the band)
	// 16 kHz: not known
}
