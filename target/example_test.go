package target_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.com/earnest/response"
	"example.com/earnest/target"
)

// A pair whose response falls by half a decibel per octave, with a peak at 6 kHz.
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
	d, err := target.Compare(brightPair(), target.Flat(), target.Config{})
	if err != nil {
		panic(err)
	}
	fmt.Println("judged over  ", d.Band)
	fmt.Println("rms          ", d.RMS)
	fmt.Println("tilt         ", d.Tilt)
	fmt.Println("ripple       ", d.Ripple)
	fmt.Printf("within ±3 dB  %.0f %%\n", 100*d.Share.Value)
	fmt.Printf("furthest away %+.2f dB at %.0f Hz\n", d.Max.Level.Value, d.Max.Frequency)
	// Output:
	// judged over   20 Hz–20 kHz
	// rms           1.521 dB
	// tilt          -0.3224 dB/octave
	// ripple        1.205 dB
	// within ±3 dB  97 %
	// furthest away +3.93 dB at 5993 Hz
}

// A target belongs to a rig. On another rig it is refused; if that is allowed, the result says so.
func ExampleCompare_otherRig() {
	curve, err := response.ReadCurve(strings.NewReader(`
# rig: ear simulator
20     4
200    0
20000 -4
`), "house curve")
	if err != nil {
		panic(err)
	}
	house := target.Target{Name: "house curve", Curve: curve}
	_, err = target.Compare(brightPair(), house, target.Config{})
	fmt.Println(errors.Is(err, response.ErrOtherRig))

	d, err := target.Compare(brightPair(), house, target.Config{AllowOtherRig: true})
	if err != nil {
		panic(err)
	}
	fmt.Println(d.Warnings[0])
	// Output:
	// true
	// the response was measured on "flat plate" and the target "house curve" belongs to "ear simulator": the difference between the rigs is in every figure
}

// Another pair measured on the same rig is always a valid target.
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
	d, err := target.Compare(brightPair(), t, target.Config{Weight: target.PerERB, Align: target.Alignment{At: 1000}})
	if err != nil {
		panic(err)
	}
	fmt.Println(d.Warnings[0])
	for _, o := range d.Octaves[6:] {
		fmt.Println(o)
	}
	// Output:
	// asked to judge 20 Hz–20 kHz, judged 100 Hz–10 kHz: the response is known over 10.1 Hz–24 kHz and the target "the trusted pair" over 100 Hz–10 kHz
	// 1 kHz (708 Hz–1.41 kHz): mean +0.08 dB, rms 0.09 dB
	// 2 kHz (1.41 kHz–2.82 kHz): mean +0.40 dB, rms 0.42 dB
	// 4 kHz (2.82 kHz–5.62 kHz): mean +2.53 dB, rms 3.20 dB
	// 8 kHz (5.62 kHz–11.2 kHz): mean +4.50 dB, rms 4.91 dB (83 % of the band)
	// 16 kHz (11.2 kHz–22.4 kHz): not known
}

// seatingsOf returns five invented seatings of a pair: each leaks a little differently in the bass.
func seatingsOf(c response.Curve) []response.Curve {
	var seatings []response.Curve
	for _, leak := range []float64{0.2, 0.5, 1.1, 0.4, 0.8} {
		seating := c.Offset(0)
		for i, f := range c.Frequency {
			// A low shelf at 90 Hz, of −leak dB far below it (Audio EQ Cookbook, Q = 1/√2).
			a, s := math.Pow(10, -leak/40), f/90
			b := math.Sqrt(2*a) * s
			seating.Level[i] += 20 * math.Log10(a*math.Hypot(a-s*s, b)/math.Hypot(1-a*s*s, b))
		}
		seatings = append(seatings, seating)
	}
	return seatings
}

// A pair put on five times gives the uncertainty of its figures.
func ExampleCompareSeatings() {
	d, err := target.CompareSeatings(seatingsOf(brightPair()), target.Flat(), target.Config{})
	if err != nil {
		panic(err)
	}
	fmt.Println("rms ", d.RMS.WithInterval(0.95))
	fmt.Println("tilt", d.Tilt.WithInterval(0.95))
	for _, r := range d.Regions[:2] {
		fmt.Printf("%s: %s\n", r.Region, r.Mean.WithInterval(0.95))
	}
	fmt.Println("uncertainty", d.Uncertainty)
	// Output:
	// rms  1.407 dB (95 % confidence: 1.331 to 1.478 dB)
	// tilt -0.262 dB/octave (95 % confidence: -0.306 to -0.219 dB/octave)
	// sub-bass (20 Hz–60 Hz): 1.20 dB (95 % confidence: 0.87 to 1.52 dB)
	// bass (60 Hz–250 Hz): 0.674 dB (95 % confidence: 0.633 to 0.716 dB)
	// uncertainty from scatter of seatings
}

// Two pairs that this measurement cannot separate share their places.
func ExampleRank() {
	duller := brightPair()
	for i, f := range duller.Frequency {
		duller.Level[i] += -0.6 * math.Log2(f/1000)
	}
	nearly := brightPair()
	for i, f := range nearly.Frequency {
		nearly.Level[i] += -0.01 * math.Log2(f/1000)
	}
	r, err := target.Rank([]target.Pair{
		{Name: "duller", Seatings: seatingsOf(duller)},
		{Name: "bright", Seatings: seatingsOf(brightPair())},
		{Name: "nearly", Seatings: seatingsOf(nearly)},
	}, target.Flat(), target.Config{})
	if err != nil {
		panic(err)
	}
	for _, p := range r.Places {
		fmt.Printf("%d–%d %s %.2f dB\n", p.Best, p.Worst, p.Name, p.Deviation.RMS.Value)
	}
	for _, d := range r.Differences {
		fmt.Printf("%s less %s %v %v\n", r.Places[d.B].Name, r.Places[d.A].Name, d.RMS.WithInterval(0.95), d.Separated)
	}
	// Output:
	// 1–2 bright 1.41 dB
	// 1–2 nearly 1.42 dB
	// 3–3 duller 2.75 dB
	// nearly less bright 0.016 dB (95 % confidence: -0.072 to 0.103 dB) false
	// duller less bright 1.34 dB (95 % confidence: 1.23 to 1.46 dB) true
	// duller less nearly 1.33 dB (95 % confidence: 1.21 to 1.45 dB) true
}

// Does the pair suit games? The sides were measured as well, and the caller changes a limit.
func ExampleUse_Judge() {
	var match []response.Curve // left less right, once for each seating
	for _, dB := range []float64{1.4, 1.9, 1.6, 1.5, 1.7} {
		match = append(match, response.Curve{Frequency: []float64{20, 20000}, Level: []float64{dB, dB}, Valid: target.Audible})
	}
	uses := target.Uses()
	use := uses[slices.IndexFunc(uses, func(u target.Use) bool { return u.Name == "games" })]
	use.Needs[0].Limit = 1.2 // dB between the sides
	v, err := use.Judge(target.Evidence{
		Seatings: seatingsOf(brightPair()),
		Match:    match,
	}, target.Flat(), target.Config{})
	if err != nil {
		panic(err)
	}
	fmt.Println(v.Use+":", v.Answer)
	for _, reason := range v.Reasons {
		fmt.Println("-", reason)
	}
	// Output:
	// games: no
	// - the mean channel balance (L−R) over 500 Hz–8 kHz, +1.62 dB (95 % confidence: 1.38 to 1.86 dB), is beyond 1.2 dB: sounds will seem to come from further to one side than they do
}
