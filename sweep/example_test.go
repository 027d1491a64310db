package sweep_test

import (
	"fmt"
	"math"
	"time"

	"example.com/earnest/sweep"
)

// A sweep from 20 Hz to 20 kHz, 12 dB below full scale.
func Example() {
	s, err := sweep.New(sweep.Config{Duration: 6 * time.Second, Level: -12})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d samples, %.2f s\n", s.Len(), s.Duration())
	fmt.Printf("1 kHz is passed at %.2f s, 2 kHz %.2f s later\n", s.TimeAt(1000), s.TimeAt(2000)-s.TimeAt(1000))
	fmt.Printf("the 2nd harmonic's response stands %.2f s before the linear one, the 3rd's %.2f s\n",
		s.HarmonicAdvance(2), s.HarmonicAdvance(3))
	// Output:
	// 281836 samples, 5.87 s
	// 1 kHz is passed at 3.33 s, 2 kHz 0.59 s later
	// the 2nd harmonic's response stands 0.59 s before the linear one, the 3rd's 0.93 s
}

// The sweep is the synchronised one that is nearest to the requested length: it has a whole number
// of cycles at its first frequency in the time in which its frequency grows by a factor of e.
func ExampleNew_synchronised() {
	for _, wanted := range []time.Duration{3 * time.Second, 6 * time.Second, 12 * time.Second} {
		s, err := sweep.New(sweep.Config{Duration: wanted})
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("wanted %v, made %.3f s: %.0f turns\n", wanted, s.Duration(), s.Start()*s.TimeConstant())
	}
	// Output:
	// wanted 3s, made 3.108 s: 9 turns
	// wanted 6s, made 5.872 s: 17 turns
	// wanted 12s, made 12.089 s: 35 turns
}

// A configuration that is impossible gives an error that says what to do.
func ExampleNew_refused() {
	_, err := sweep.New(sweep.Config{Stop: 30000})
	fmt.Println(err)
	_, err = sweep.New(sweep.Config{Level: 3})
	fmt.Println(err)
	// Output:
	// sweep: stop frequency 30000 Hz is above half the sample rate, 24000 Hz; lower it or raise the sample rate
	// sweep: level 3 dBFS; choose one from −120 to 0 dBFS peak
}

// The stimulus that a reviewer plays, and the positions of its segments.
func ExampleNewStimulus() {
	s, err := sweep.New(sweep.Config{Level: -12})
	if err != nil {
		fmt.Println(err)
		return
	}
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, segment := range st.Segments() {
		fmt.Printf("%6.2f s  %v\n", float64(segment.Start)/48000, segment.Kind)
	}
	fmt.Printf("%6.2f s  end\n", st.Duration())
	// Output:
	//   0.00 s  silence
	//   2.00 s  timing mark
	//   2.20 s  silence
	//   3.70 s  sweep, left
	//   9.57 s  silence
	//  11.07 s  sweep, right
	//  16.94 s  silence
	//  18.44 s  timing mark
	//  18.64 s  silence
	//  20.64 s  end
}

// The spectrum of the sweep falls by 3 dB per octave, so a recording has the
// same energy in every octave and a constant noise disturbs high frequencies
// most.
func ExampleSweep_SpectrumLevel() {
	s, err := sweep.New(sweep.Config{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for f := 1000.0; f <= 8000; f *= 2 {
		fmt.Printf("%g Hz: %+.2f dB\n", f, 20*math.Log10(s.SpectrumLevel(f)/s.SpectrumLevel(1000)))
	}
	// Output:
	// 1000 Hz: +0.00 dB
	// 2000 Hz: -3.01 dB
	// 4000 Hz: -6.02 dB
	// 8000 Hz: -9.03 dB
}
