package response_test

import (
	"fmt"
	"math"

	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// record returns a recording of the sweep, 0.1 s after the recorder was started, through headphones
// with a resonance of 6 dB at 3 kHz, or direct.
func record(s *sweep.Sweep, headphones bool) []float64 {
	x := make([]float64, s.Len()+s.SampleRate())
	copy(x[s.SampleRate()/10:], s.Samples())
	if headphones {
		resonate(x, float64(s.SampleRate()))
	}
	return x
}

// resonate raises 3 kHz by 6 dB, in place: a peaking filter of Q = 2 by the Audio EQ Cookbook.
func resonate(x []float64, sampleRate float64) {
	w, a := 2*math.Pi*3000/sampleRate, math.Pow(10, 6.0/40)
	alpha := math.Sin(w) / (2 * 2)
	var x1, x2, y1, y2 float64
	for i, v := range x {
		y := ((1+alpha*a)*v - 2*math.Cos(w)*(x1-y1) + (1-alpha*a)*x2 - (1-alpha/a)*y2) / (1 + alpha/a)
		x[i], x1, x2, y1, y2 = y, v, x1, y, y1
	}
}

// From two recordings, one direct and one through the headphones, to a curve.
func Example() {
	s, err := sweep.New(sweep.Config{Level: -12})
	if err != nil {
		fmt.Println(err)
		return
	}
	d, err := response.NewDeconvolver(s, response.DeconvolverConfig{})
	if err != nil {
		fmt.Println(err)
		return
	}
	transfer := func(recording []float64) *response.Transfer {
		impulse, err := d.Impulse(recording)
		if err != nil {
			fmt.Println(err)
			return nil
		}
		window, err := impulse.Window(0, 0) // around its peak
		if err != nil {
			fmt.Println(err)
			return nil
		}
		return window.Transfer()
	}
	headphones, err := transfer(record(s, true)).Divide(transfer(record(s, false)))
	if err != nil {
		fmt.Println(err)
		return
	}
	curve, err := headphones.Smoothed(response.LogGrid(20, 20000, 24), 12)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, f := range []float64{100, 1000, 3000, 10000} {
		fmt.Printf("%5.0f Hz  %+.1f dB\n", f, curve.At(f))
	}
	fmt.Println("known over", curve.Valid, "re", curve.Reference)
	// Output:
	//   100 Hz  +0.0 dB
	//  1000 Hz  +0.2 dB
	//  3000 Hz  +6.0 dB
	// 10000 Hz  +0.1 dB
	// known over 20 Hz–20 kHz re direct recording
}

// A recording that does not hold the sweep gives an error.
func ExampleImpulse_Delay_noPeak() {
	s, _ := sweep.New(sweep.Config{})
	d, _ := response.NewDeconvolver(s, response.DeconvolverConfig{})

	good, _ := d.Impulse(record(s, true))
	_, err := good.Delay()
	fmt.Println("this sweep:", err)

	other, _ := sweep.New(sweep.Config{Start: 10})
	bad, _ := d.Impulse(record(other, true))
	_, err = bad.Delay()
	fmt.Println("another sweep:", err)
	// Output:
	// this sweep: <nil>
	// another sweep: response: the deconvolved peak is not a peak: it stands 13 dB above the rest, and a sweep's at least 24 dB; check that the recording is of this sweep, at its speed and sample rate, and not lost in noise
}

// The delay of the recorder and the air, to a fraction of a sample.
func ExampleImpulse_Delay() {
	s, _ := sweep.New(sweep.Config{})
	d, _ := response.NewDeconvolver(s, response.DeconvolverConfig{})
	impulse, err := d.Impulse(record(s, false))
	if err != nil {
		fmt.Println(err)
		return
	}
	delay, err := impulse.Delay()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f ms\n", 1000*delay)
	// Output: 100.000 ms
}

// The harmonics come before the linear response, each by its own advance.
func ExampleDeconvolver_Separate() {
	s, _ := sweep.New(sweep.Config{})
	d, _ := response.NewDeconvolver(s, response.DeconvolverConfig{})
	recording := record(s, false)
	for i := range s.Len() { // one per cent of second harmonic, up to 22 kHz
		at := float64(i) / 48000
		if s.FrequencyAt(at) < 11000 {
			recording[4800+i] += 0.01 * math.Sin(2*s.PhaseAt(at))
		}
	}
	parts, err := d.Separate(recording)
	if err != nil {
		fmt.Println(err)
		return
	}
	largest := 0
	for i, v := range parts.Harmonics.Samples {
		if math.Abs(v) > math.Abs(parts.Harmonics.Samples[largest]) {
			largest = i
		}
	}
	fmt.Printf("2nd harmonic expected %.3f s before the linear response, found %.3f s before it\n",
		s.HarmonicAdvance(2), 0.1-parts.Harmonics.Time(largest))
	// Output: 2nd harmonic expected 0.589 s before the linear response, found 0.589 s before it
}

// Phase, in three parts: the delay, the minimum phase of the magnitude, and the rest.
func ExampleTransfer_ExcessPhase() {
	s, _ := sweep.New(sweep.Config{})
	d, _ := response.NewDeconvolver(s, response.DeconvolverConfig{})
	impulse, err := d.Impulse(record(s, true))
	if err != nil {
		fmt.Println(err)
		return
	}
	window, err := impulse.Window(0, 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	transfer := window.Transfer().Delayed(-0.1)
	worst := 0.0
	excess, uncertainty := transfer.ExcessPhase()
	for i, e := range excess {
		if uncertainty[i] < 0.5 { // rad; it is larger near the ends of the band
			worst = max(worst, math.Abs(e)*180/math.Pi)
		}
	}
	fmt.Printf("a resonance is minimum phase to %t\n", worst < 0.1)
	// Output: a resonance is minimum phase to true
}

// Left less right, with its uncertainty.
func ExampleCurve_Sub() {
	left, _ := response.NewCurve([]float64{100, 1000, 10000}, []float64{0.5, 0, 1})
	right, _ := response.NewCurve([]float64{100, 1000, 10000}, []float64{0, 0, 2})
	left.Uncertainty = []float64{0.3, 0.1, 0.6}
	right.Uncertainty = []float64{0.4, 0.1, 0.8}
	match, err := left.Sub(right)
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, f := range match.Frequency {
		fmt.Printf("%5.0f Hz  %+.1f ± %.2f dB\n", f, match.Level[i], 2*match.Uncertainty[i])
	}
	// Output:
	//   100 Hz  +0.5 ± 1.00 dB
	//  1000 Hz  +0.0 ± 0.28 dB
	// 10000 Hz  -1.0 ± 2.00 dB
}

// The same pair put on the rig three times, once with a leak.
func ExampleAverageOf() {
	grid := response.LogGrid(20, 20000, 3)
	seating := func(bass, treble float64) response.Curve {
		level := make([]float64, len(grid))
		for i, f := range grid {
			switch {
			case f < 250:
				level[i] = bass
			case f > 5000:
				level[i] = treble
			}
		}
		c, _ := response.NewCurve(grid, level)
		return c
	}
	a, err := response.AverageOf([]response.Curve{seating(0.2, -0.4), seating(-8, 0.2), seating(0, 0.5)})
	if err != nil {
		fmt.Println(err)
		return
	}
	f, i := 10079.37, len(grid)-4
	fmt.Printf("at %.0f Hz: %+.1f dB, spread %.1f dB, 95 %% confidence to ±%.1f dB\n", f, a.Level.Level[i], a.Spread[i], a.Level.HalfWidth(0.95)[i])
	for _, o := range a.Outliers {
		fmt.Printf("seating %d stands apart: %+.1f dB in %v\n", o.Index+1, o.Deviation, o.Band)
	}
	// Output:
	// at 10079 Hz: +0.1 dB, spread 0.5 dB, 95 % confidence to ±1.1 dB
	// seating 2 stands apart: -8.1 dB in 89.1 Hz–178 Hz
}

// A curve with 0 dB at 1 kHz, the usual way to show one.
func ExampleCurve_NormaliseAt() {
	c, _ := response.NewCurve([]float64{100, 1000, 10000}, []float64{92, 94, 88})
	n, err := c.NormaliseAt(1000)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(n.Level, "re", n.Reference)
	_, err = c.NormaliseAt(20)
	fmt.Println(err)
	// Output:
	// [-2 0 -6] re level at 1 kHz
	// response: cannot normalise at 20 Hz: the curve is known over 100 Hz–10 kHz; choose a frequency inside it
}
