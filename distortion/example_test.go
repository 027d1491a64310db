package distortion_test

import (
	"fmt"
	"log"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"time"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// play records a sweep through y = x + second x² + third x³, half a second late, over a little
// noise. Real recordings come from a file.
func play(s *sweep.Sweep, second, third float64) []float64 {
	recording := make([]float64, s.Len()+s.SampleRate())
	for i, x := range s.Samples() {
		recording[i+s.SampleRate()/2] = x + second*x*x + third*x*x*x
	}
	addNoise(recording, 1, -100)
	return recording
}

// addNoise adds white Gaussian noise of an rms level in dBFS.
func addNoise(x []float64, seed uint64, level float64) {
	r := rand.New(rand.NewPCG(seed, 1))
	sigma := math.Pow(10, level/20)
	for i := range x {
		x[i] += sigma * r.NormFloat64()
	}
}

// addClicks adds one sample of a height relative to the sweep's peak to every
// period of the fundamental between two frequencies.
func addClicks(x []float64, s *sweep.Sweep, low, high, height float64) {
	fs := float64(s.SampleRate())
	for i := 1; i < s.Len(); i++ {
		f := s.FrequencyAt(float64(i) / fs)
		turns := math.Floor(s.PhaseAt(float64(i)/fs)/(2*math.Pi)) - math.Floor(s.PhaseAt(float64(i-1)/fs)/(2*math.Pi))
		if f > low && f < high && turns > 0 {
			x[i] += s.Amplitude() * height
		}
	}
}

// measure returns the harmonics of a recording.
func measure(s *sweep.Sweep, recording []float64) *distortion.HarmonicSet {
	d, err := response.NewDeconvolver(s, response.DeconvolverConfig{Orders: 3})
	if err != nil {
		log.Fatal(err)
	}
	parts, err := d.Separate(recording)
	if err != nil {
		log.Fatal(err)
	}
	silence := make([]float64, s.SampleRate())
	addNoise(silence, 2, -100)
	hs, err := distortion.Harmonics(parts, distortion.Config{Silence: silence})
	if err != nil {
		log.Fatal(err)
	}
	return hs
}

func Example() {
	s, err := sweep.New(sweep.Config{Stop: 8000, Duration: 3 * time.Second, Level: -6})
	if err != nil {
		log.Fatal(err)
	}
	hs := measure(s, play(s, 0.002, 0))

	fmt.Printf("2nd harmonic at 1 kHz: %v\n", hs.Harmonic(2, 1000))
	third := hs.Harmonic(3, 1000)
	fmt.Printf("3rd: below its floor: %v\n", third.Below)
	thd := hs.THD(1000)
	fmt.Printf("THD %s: %.3f %%\n", thd.Relative, thd.Value)
	fmt.Printf("measured at %.0f dBFS; the 2nd is known over %v of the fundamental\n", s.Level(), hs.Orders[0].Valid)
	// Output:
	// 2nd harmonic at 1 kHz: −66.0 dB with u = 0.1 dB
	// 3rd: below its floor: true
	// THD relative to the fundamental: 0.050 %
	// measured at -6 dBFS; the 2nd is known over 33.9 Hz–7.73 kHz of the fundamental
}

// The number of harmonics that a sweep can separate, and the length that more of them need.
func ExampleMaxOrders() {
	s, err := sweep.New(sweep.Config{Duration: 2 * time.Second})
	if err != nil {
		log.Fatal(err)
	}
	const decay = 30 * time.Millisecond
	fmt.Println("orders:", distortion.MaxOrders(s, decay))
	fmt.Printf("for eight: %.1f s\n", distortion.MinDuration(20, 20000, 8, decay).Seconds())
	// Output:
	// orders: 4
	// for eight: 3.9 s
}

// The converter that drives the headphones has its own distortion. A direct recording shows it and
// allows it to be subtracted.
func ExampleHarmonicSet_Subtract() {
	s, err := sweep.New(sweep.Config{Stop: 8000, Duration: 3 * time.Second, Level: -6})
	if err != nil {
		log.Fatal(err)
	}
	direct := measure(s, play(s, 0.0005, 0))
	through := measure(s, play(s, 0.002+0.0005, 0))

	beside, err := through.WithRig(direct)
	if err != nil {
		log.Fatal(err)
	}
	second := beside.Harmonic(2, 500)
	fmt.Printf("as recorded: %.1f dB, at most %.1f dB\n", second.AsRead, second.Bound)
	own, err := through.Subtract(direct)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("the headphones': %.1f dB\n", own.Harmonic(2, 500).Value)
	// Output:
	// as recorded: -64.1 dB, at most -62.3 dB
	// the headphones': -66.0 dB
}

// Distortion grows with level: raise it in steps, headphones off your head.
func ExampleLevelSeries() {
	var sets []*distortion.HarmonicSet
	for _, level := range []float64{-24, -18, -12, -6, 0} {
		s, err := sweep.New(sweep.Config{Stop: 8000, Duration: 2 * time.Second, Level: level})
		if err != nil {
			log.Fatal(err)
		}
		sets = append(sets, measure(s, play(s, 0, -0.1)))
	}
	series, err := distortion.NewLevelSeries(sets...)
	if err != nil {
		log.Fatal(err)
	}
	const fullScale = 110 // dB SPL of a tone recorded at 0 dBFS peak
	for _, p := range series.At(500) {
		fmt.Printf("%5.1f dB SPL  %6.2f %%  compression %+.2f dB\n", p.Output+fullScale, p.THD.Value, p.Compression.Value)
	}
	_, output, _, err := series.MaxLevel(500, 1)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("1 %% at %.1f dB SPL\n", output+fullScale)
	// Output:
	//  86.0 dB SPL    0.01 %  compression +0.00 dB
	//  92.0 dB SPL    0.04 %  compression -0.01 dB
	//  98.0 dB SPL    0.16 %  compression -0.04 dB
	// 103.8 dB SPL    0.64 %  compression -0.16 dB
	// 109.3 dB SPL    2.70 %  compression -0.67 dB
	// 1 % at 105.5 dB SPL
}

// A loose part clicks once a period between 150 and 250 Hz.
func ExampleRubBuzz() {
	s, err := sweep.New(sweep.Config{Duration: 3 * time.Second, Level: -6})
	if err != nil {
		log.Fatal(err)
	}
	recording := play(s, 0.002, 0)
	addClicks(recording[s.SampleRate()/2:], s, 150, 250, 0.02)
	d, err := response.NewDeconvolver(s, response.DeconvolverConfig{})
	if err != nil {
		log.Fatal(err)
	}
	silence := make([]float64, s.SampleRate())
	addNoise(silence, 2, -100)
	separated, err := d.Separate(recording)
	if err != nil {
		log.Fatal(err)
	}
	r, err := distortion.RubBuzz(separated, recording, distortion.Config{Silence: silence})
	if err != nil {
		log.Fatal(err)
	}
	for _, f := range []float64{100, 200, 400} {
		peak := r.Peak.At(f)
		fmt.Printf("%.0f Hz: peak %.0f dB, floor %.0f dB, loose: %v\n", f, peak.AsRead, peak.Floor, peak.Known())
	}
	// Output:
	// 100 Hz: peak -82 dB, floor -84 dB, loose: false
	// 200 Hz: peak -35 dB, floor -84 dB, loose: true
	// 400 Hz: peak -84 dB, floor -85 dB, loose: false
}

// The branches of a nonlinear model, from one sweep.
func ExampleHarmonicSet_Kernels() {
	s, err := sweep.New(sweep.Config{Stop: 8000, Duration: 3 * time.Second, Level: -6})
	if err != nil {
		log.Fatal(err)
	}
	for _, k := range measure(s, play(s, 0.05, 0.02)).Kernels() {
		g, _ := k.At(1000)
		fmt.Printf("x^%d: %.4f at 1 kHz, known over %v\n", k.Order, cmplx.Abs(g), k.Valid)
	}
	// Output:
	// x^1: 1.0000 at 1 kHz, known over 102 Hz–7.73 kHz
	// x^2: 0.0500 at 1 kHz, known over 67.8 Hz–15.5 kHz
	// x^3: 0.0200 at 1 kHz, known over 102 Hz–22.8 kHz
}

// A harmonic at −60 dB above a floor of −80 dB that is known from noise alone.
func ExampleNewReading() {
	r := distortion.NewReading(-60, -80, "dB", distortion.Noise{Degrees: 2})
	low, high := r.Interval(0.95)
	fmt.Printf("%.1f dB (%.1f to %.1f)\n", r.Value, low, high)
	below := distortion.NewReading(-78, -80, "dB", distortion.Noise{Degrees: 2})
	fmt.Printf("known: %v, at most %.1f dB\n", below.Known(), below.Bound)
	// Output:
	// -60.0 dB (-61.4 to -58.9)
	// known: false, at most -72.9 dB
}
