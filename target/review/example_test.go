package review_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
	"example.com/earnest/target/review"
)

// recorded stands for a recorder: 0.1 s of silence, then the stimulus, through headphones that are
// 6 dB softer in the treble, have 0.1 % of second harmonic at full scale, and hiss at −90 dBFS.
func recorded(played [][]float64, headphones bool, seed uint64) [][]float64 {
	random := rand.New(rand.NewPCG(seed, 1))
	out := make([][]float64, len(played))
	for k, x := range played {
		y := make([]float64, 4800, 4800+len(x))
		var low float64
		for _, v := range x {
			if headphones {
				v += 0.002 * v * v
				low += 0.2 * (v - low) // a low-pass filter of one pole
				v = (v + low) / 2
			}
			y = append(y, v)
		}
		for i := range y {
			y[i] += 3e-5 * random.NormFloat64()
		}
		out[k] = y
	}
	return out
}

// A pair is measured from recordings in memory: direct, then each time it was put on.
func Example() {
	s, err := sweep.New(sweep.Config{Duration: time.Second, Level: -12})
	if err != nil {
		fmt.Println(err)
		return
	}
	stimulus, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s})
	if err != nil {
		fmt.Println(err)
		return
	}
	bench, err := review.New(review.Config{Stimulus: stimulus, Rig: "flat plate"})
	if err != nil {
		fmt.Println(err)
		return
	}
	direct := &capture.Recording{Name: "direct", SampleRate: 48000, Channels: recorded(stimulus.Channels(), false, 1)}
	if _, err := bench.Direct(review.Both(direct)); err != nil {
		fmt.Println(err)
		return
	}
	pair := bench.Pair(review.About{Name: "Wren"})
	for i, name := range []string{"first", "second"} {
		through := &capture.Recording{Name: name, SampleRate: 48000, Channels: recorded(stimulus.Channels(), true, uint64(i+2))}
		if _, err := pair.Seat(review.Seating{Name: name, Channels: review.Both(through)}); err != nil {
			fmt.Println(err) // this seating is left out
		}
	}
	results, err := pair.Measure()
	if err != nil {
		fmt.Println(err)
		return
	}
	left := results.Left
	fmt.Printf("%s, left: %.1f dB at 1 kHz, %.1f dB at 10 kHz\n", results.About.Name, left.Response().At(1000), left.Response().At(10000))
	fmt.Printf("left less right at 1 kHz: %.1f dB\n", math.Abs(results.Difference.At(1000)))
	fmt.Printf("second harmonic known: %v\n", left.THD(1000).Known())
	fmt.Printf("18 Hz, below the sweep, known: %v\n", results.Mean.Figure(18).Known())
	// Output:
	// Wren, left: -0.9 dB at 1 kHz, -4.9 dB at 10 kHz
	// left less right at 1 kHz: 0.0 dB
	// second harmonic known: true
	// 18 Hz, below the sweep, known: false
}
