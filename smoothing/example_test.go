package smoothing_test

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/smoothing"
)

// A transfer function's level on the grid of a Fourier transform, smoothed over a sixth of an
// octave and sampled at a few points of a logarithmic axis.
func Example() {
	const sampleRate, size = 48000.0, 8192
	frequency := make([]float64, size/2+1) // from 0 Hz
	level := make([]float64, len(frequency))
	for k := range frequency {
		f := sampleRate * float64(k) / size
		frequency[k] = f
		// A broad rise of 6 dB at 4 kHz, and the ripple of a reflection 20 ms late.
		level[k] = 6/(1+math.Pow((f-4000)/1000, 2)) + 2*math.Sin(2*math.Pi*0.02*f)
	}
	centre := floats.LogSpan(make([]float64, 5), 1000, 16000)
	plan, err := smoothing.NewOctave(frequency, centre, 6)
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, l := range plan.Mean(nil, level) {
		fmt.Printf("%5.0f Hz %5.1f dB\n", centre[i], l)
	}
	// Output:
	//  1000 Hz   0.7 dB
	//  2000 Hz   1.3 dB
	//  4000 Hz   5.9 dB
	//  8000 Hz   0.4 dB
	// 16000 Hz   0.0 dB
}

// The error of a plain mean of bins: over an octave of a curve that falls by 10 dB per octave it is
// more than half a decibel low.
func ExamplePlan_Mean_levels() {
	frequency := make([]float64, 40960)
	level := make([]float64, len(frequency))
	for i := range frequency {
		frequency[i] = 0.1 * float64(i+1)
		level[i] = -10 * math.Log2(frequency[i]/1000)
	}
	var sum, n float64
	for i, f := range frequency {
		if f >= 1000/math.Sqrt2 && f <= 1000*math.Sqrt2 {
			sum += level[i]
			n++
		}
	}
	fmt.Printf("plain mean of bins   %+.2f dB\n", sum/n)

	plan, err := smoothing.NewOctave(frequency, []float64{1000}, 1)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("mean over log f      %+.2f dB\n", math.Abs(plan.Mean(nil, level)[0]))
	// Output:
	// plain mean of bins   -0.57 dB
	// mean over log f      +0.00 dB
}

// The mean of power follows the peaks; the mean of level treats peaks and dips alike.
func ExamplePlan_Mean() {
	frequency := floats.LogSpan(make([]float64, 1001), 100, 10000)
	power := make([]float64, len(frequency))
	level := make([]float64, len(frequency))
	for i, f := range frequency {
		level[i] = 12 * math.Sin(2*math.Pi*6*math.Log2(f/1000)) // a comb, six teeth per octave
		power[i] = math.Pow(10, level[i]/10)
	}
	plan, err := smoothing.NewOctave(frequency, []float64{1000}, 3)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("mean of power %.1f dB\n", 10*math.Log10(plan.Mean(nil, power)[0]))
	fmt.Printf("mean of level %.1f dB\n", math.Abs(plan.Mean(nil, level)[0]))
	// Output:
	// mean of power 6.1 dB
	// mean of level 0.0 dB
}

// An impulse 1 ms late. Remove the delay first: smoothing the transfer function with it destroys
// the level.
func ExamplePlan_Complex() {
	const delay = 1e-3 // seconds
	frequency := floats.LogSpan(make([]float64, 2001), 100, 20000)
	late := make([]complex128, len(frequency))
	aligned := make([]complex128, len(frequency))
	for i, f := range frequency {
		s, c := math.Sincos(2 * math.Pi * f * delay)
		late[i], aligned[i] = complex(c, -s), 1
	}
	plan, err := smoothing.NewOctave(frequency, []float64{5000}, 3)
	if err != nil {
		fmt.Println(err)
		return
	}
	magnitude := func(h []complex128) float64 { return math.Hypot(real(h[0]), imag(h[0])) }
	fmt.Printf("delay left in   %.2f\n", magnitude(plan.Complex(nil, late)))
	fmt.Printf("delay taken out %.2f\n", magnitude(plan.Complex(nil, aligned)))
	// Output:
	// delay left in   0.14
	// delay taken out 1.00
}

// Auditory smoothing: the bands are wider in the bass, relative to their frequency.
func ExampleNewERB_centres() {
	frequency := floats.LogSpan(make([]float64, 2000), 20, 20000)
	level := make([]float64, len(frequency))
	for i, f := range frequency {
		level[i] = -3 * math.Log2(f/1000) // pink tilt
	}
	centre := []float64{100, 1000, 10000}
	plan, err := smoothing.NewERB(frequency, centre, 1)
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, l := range plan.Mean(nil, level) {
		fmt.Printf("%5.0f Hz, band of %4.0f Hz: %5.2f dB\n", centre[i], smoothing.ERBWidth(centre[i]), l)
	}
	// Output:
	//   100 Hz, band of   35 Hz:  9.97 dB
	//  1000 Hz, band of  133 Hz:  0.00 dB
	// 10000 Hz, band of 1104 Hz: -9.97 dB
}

// Third-octave levels of pink noise are equal.
func ExampleBandPower() {
	const spacing = 1.0 // Hz
	density := make([]float64, 4001)
	for k := 1; k < len(density); k++ {
		density[k] = 1 / (spacing * float64(k))
	}
	bands, err := smoothing.Bands(3, 500, 2000)
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, p := range smoothing.BandPower(nil, density, spacing, bands) {
		fmt.Printf("%4g Hz %.2f dB\n", bands[i].Nominal, 10*math.Log10(p))
	}
	// Output:
	//  500 Hz -6.38 dB
	//  630 Hz -6.38 dB
	//  800 Hz -6.38 dB
	// 1000 Hz -6.38 dB
	// 1250 Hz -6.38 dB
	// 1600 Hz -6.38 dB
	// 2000 Hz -6.38 dB
}

func ExampleBands() {
	bands, err := smoothing.Bands(1, 63, 250)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, b := range bands {
		fmt.Printf("%3g Hz: %.2f … %.2f … %.2f Hz\n", b.Nominal, b.Low, b.Centre, b.High)
	}
	// Output:
	//  63 Hz: 44.67 … 63.10 … 89.13 Hz
	// 125 Hz: 89.13 … 125.89 … 177.83 Hz
	// 250 Hz: 177.83 … 251.19 … 354.81 Hz
}

// The standard's table holds at the exact midband frequencies.
func ExampleAWeighting() {
	bands, err := smoothing.Bands(1, 63, 16000)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, b := range bands {
		fmt.Printf("%5g Hz %+5.1f dB\n", b.Nominal, smoothing.AWeighting(b.Centre))
	}
	// Output:
	//    63 Hz -26.2 dB
	//   125 Hz -16.1 dB
	//   250 Hz  -8.6 dB
	//   500 Hz  -3.2 dB
	//  1000 Hz  +0.0 dB
	//  2000 Hz  +1.2 dB
	//  4000 Hz  +1.0 dB
	//  8000 Hz  -1.1 dB
	// 16000 Hz  -6.6 dB
}
