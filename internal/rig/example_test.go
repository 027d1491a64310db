package rig_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"time"

	"example.com/earnest/internal/rig"
	"example.com/earnest/sweep"
)

// Record an invented pair, once direct and once through the headphones.
func Example() {
	pair, _, r := rig.Demonstration()
	s, err := sweep.New(sweep.Config{Duration: time.Second, Level: -12})
	if err != nil {
		fmt.Println(err)
		return
	}
	stimulus, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: time.Second / 2, Gap: time.Second / 2})
	if err != nil {
		fmt.Println(err)
		return
	}
	direct := r.Direct(stimulus.Channels())
	through := r.Through(pair, 0, stimulus.Channels())
	fmt.Println(r.Name)
	fmt.Println(len(direct), "channels direct,", len(through), "channels through", pair.Name)
	fmt.Println(len(through[rig.Left])-stimulus.Len(), "samples longer than what was played")
	// Output:
	// flat plate, simulated
	// 2 channels direct, 2 channels through Wexcombe Ardle (invented)
	// 613 samples longer than what was played
}

// An invented pair of one's own, and the result of a perfect measurement of it.
func ExampleHeadphones_Response() {
	pair := rig.Headphones{
		Left:  rig.Driver{Filters: []rig.Filter{rig.Peak(3000, 2, -6)}},
		Right: rig.Driver{Filters: []rig.Filter{rig.Peak(3000, 2, -6)}, Gain: -0.5},
	}
	for _, side := range []rig.Side{rig.Left, rig.Right} {
		h := pair.Response(side, 3000, 48000)
		fmt.Printf("%v at 3 kHz: %.1f dB\n", side, 20*math.Log10(cmplx.Abs(h)))
	}
	// Output:
	// left at 3 kHz: -6.0 dB
	// right at 3 kHz: -6.5 dB
}

// A device whose harmonics are known: at twice the input level, twice the share of the second
// harmonic and four times that of the third.
func ExampleNewPolynomial() {
	none := math.Inf(-1)
	p := rig.NewPolynomial(-12, -60, -70, none, none)
	for _, level := range []float64{-12, -6} {
		u := math.Pow(10, level/20)
		fmt.Printf("%v dBFS: second %.0f dB, third %.0f dB\n", level,
			20*math.Log10(cmplx.Abs(p.Harmonic(2, u))/u),
			20*math.Log10(cmplx.Abs(p.Harmonic(3, u))/u))
	}
	// Output:
	// -12 dBFS: second -60 dB, third -70 dB
	// -6 dBFS: second -54 dB, third -58 dB
}

// A recording that the interface clipped.
func ExampleClip() {
	take := rig.Music(48000, 1, 1) // its peak is −6 dBFS
	clipped := rig.Clip(take, 12)
	var full int
	for _, v := range clipped[rig.Left] {
		if math.Abs(v) == 1 {
			full++
		}
	}
	fmt.Println(full > 10)
	// Output: true
}
