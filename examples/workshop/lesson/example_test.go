package lesson_test

import (
	"context"
	"fmt"
	"math"

	"example.com/earnest/examples/workshop/bench"
	"example.com/earnest/examples/workshop/lesson"
)

var workbench = bench.New()

// measured is a measurement that succeeds.
func measured(s bench.Settings) *bench.Result {
	r, err := workbench.Measure(context.Background(), s)
	if err != nil {
		panic(err)
	}
	if r.Problem != nil {
		panic(r.Problem)
	}
	return r
}

// A lesson is data: a question, settings to try, and an answer that reads the
// figures of the measurement.
func Example() {
	l := lesson.All[1]
	fmt.Println(l.Question)
	r := measured(l.Tries[0].Settings())
	fmt.Println(l.Read(r))
	// Output:
	// The sweep is known exactly. Why record the interface patched straight into itself?
	// Without the direct recording the response is −1.7 dB off at 25 Hz and −2.3 dB off at 18 kHz. Neither error is the pair's.
}

// In pink noise a sweep that rises by octaves stands as far above the noise in
// the bass as in the treble.
func Example_whyLogarithmic() {
	s := bench.Default()
	s.Noise, s.Pink = -40, 1
	r := measured(s)
	for _, m := range []bench.OctaveSNR{r.SNR[1], r.SNR[5], r.SNR[8]} {
		logarithmic, linear := r.TimeInBand(m.Band)
		fmt.Printf("%4.0f Hz: about %.0f dB above the noise after %.0f ms; a linear sweep would have taken %.0f ms\n",
			m.Nominal, 10*math.Round(m.Level/10), 1000*logarithmic, 1000*linear)
	}
	// Output:
	//   63 Hz: about 30 dB above the noise after 104 ms; a linear sweep would have taken 2 ms
	// 1000 Hz: about 30 dB above the noise after 104 ms; a linear sweep would have taken 37 ms
	// 8000 Hz: about 30 dB above the noise after 104 ms; a linear sweep would have taken 290 ms
}

// The interface's own response is in both recordings, and cancels.
func Example_whyADirectRecording() {
	s := bench.Default()
	s.Direct = 0
	without := measured(s)
	s.Direct = 1
	with := measured(s)
	for _, f := range []float64{25, 1000, 18000} {
		fmt.Printf("%5.0f Hz: off by %+.1f dB without, by less than 0.1 dB with: %t\n",
			f, without.Error.Curve.At(f), math.Abs(with.Error.Curve.At(f)) < 0.1)
	}
	// Output:
	//    25 Hz: off by -1.7 dB without, by less than 0.1 dB with: true
	//  1000 Hz: off by +0.3 dB without, by less than 0.1 dB with: true
	// 18000 Hz: off by -2.3 dB without, by less than 0.1 dB with: true
}

// A resonance narrower than the band of the smoothing keeps its energy and
// loses its height. Smoothing n is over 1/n octave, 0 none.
func Example_whatSmoothingHides() {
	s := bench.Default()
	for _, fraction := range []float64{0, 24, 6, 3, 1} {
		s.Smoothing = fraction
		r := measured(s)
		fmt.Printf("smoothing %2.0f: %.1f dB at 6.3 kHz, in truth %.1f dB\n", fraction, r.Response.At(6300), r.Truth.At(6300))
	}
	// Output:
	// smoothing  0: 7.5 dB at 6.3 kHz, in truth 7.5 dB
	// smoothing 24: 6.6 dB at 6.3 kHz, in truth 7.5 dB
	// smoothing  6: 3.9 dB at 6.3 kHz, in truth 7.5 dB
	// smoothing  3: 2.4 dB at 6.3 kHz, in truth 7.5 dB
	// smoothing  1: 0.7 dB at 6.3 kHz, in truth 7.5 dB
}

// Harmonics stand before the response, and spoil it when the window lets them
// in.
func Example_whereHarmonicsGo() {
	s := bench.Default()
	s.Second, s.Third, s.Smoothing = -20, -40, 0
	for _, before := range []float64{60, 150} {
		s.Before = before
		r := measured(s)
		fmt.Printf("window from %.0f ms before the peak, second harmonic at %.0f ms: off by at most %.0f dB\n",
			before, 1000*r.Sweep.HarmonicAdvance(2), math.Abs(r.Error.Max.Level.Value))
	}
	// Output:
	// window from 60 ms before the peak, second harmonic at 104 ms: off by at most 0 dB
	// window from 150 ms before the peak, second harmonic at 104 ms: off by at most 4 dB
}

// A harmonic within 6 dB of what noise alone would read is noise.
func Example_whenDistortionIsNoise() {
	s := bench.Default()
	s.Second, s.Third = -70, math.Inf(-1)
	for _, noise := range []float64{-40, -95} {
		s.Noise = noise
		r := measured(s)
		f := r.Harmonics.Harmonic(2, 1000)
		fmt.Printf("noise at %.0f dBFS: reads %.0f dB, known: %t; in truth %.0f dB\n", noise, f.AsRead, f.Known(), r.TrueHarmonic(2, 1000))
	}
	// Output:
	// noise at -40 dBFS: reads -47 dB, known: false; in truth -71 dB
	// noise at -95 dBFS: reads -71 dB, known: true; in truth -71 dB
}

// One seating says nothing of how the next will differ, and two say little: the
// 95 % interval of a mean is Student's t over the root of n times the spread.
func Example_whyTwoSeatingsAreNotOne() {
	s := bench.Default()
	s.Spread, s.Duration = 2, 0.35
	for _, n := range []float64{1, 2, 4} {
		s.Seatings = n
		a := measured(s).Average
		half := a.Level.HalfWidth(0.95)
		if half == nil {
			fmt.Println("1 seating: nothing is known of its spread")
			continue
		}
		fmt.Printf("%.0f seatings: the mean is known to ±%.1f times their spread\n", n, half[0]/a.Spread[0])
	}
	// Output:
	// 1 seating: nothing is known of its spread
	// 2 seatings: the mean is known to ±9.0 times their spread
	// 4 seatings: the mean is known to ±1.6 times their spread
}
