package tone_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"

	"example.com/earnest/distortion/tone"
)

// A 1 kHz tone through a device with a little distortion and a noisy recorder, whose clock differs
// from the player's.
func Example() {
	random := rand.New(rand.NewPCG(1, 2))
	recording := make([]float64, 2*48000)
	for i := range recording {
		x := 0.5 * math.Sin(2*math.Pi*1000.03*float64(i)/48000)
		recording[i] = x + 0.004*x*x + 1e-5*random.NormFloat64()
	}
	r, err := tone.Analyse(recording, 48000, tone.Config{Orders: 3})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f Hz at %.1f dBFS\n", r.Frequency.Value, r.Level.Value)
	for _, h := range r.Harmonics {
		if h.Known() {
			fmt.Printf("harmonic %d: %.1f dB\n", h.Order, h.Value)
		} else {
			fmt.Printf("harmonic %d: below the floor of this measurement, which is at %.0f dB\n", h.Order, h.Floor)
		}
	}
	fmt.Printf("THD of orders %v: %.3f %% of the fundamental\n", r.THD.Contains, r.THD.Value)
	fmt.Printf("noise, 20 Hz–20 kHz: %.1f dB\n", r.Noise.Value)
	// Output:
	// 1000.03 Hz at -6.0 dBFS
	// harmonic 2: -60.0 dB
	// harmonic 3: below the floor of this measurement, which is at -135 dB
	// THD of orders [2 3]: 0.100 % of the fundamental
	// noise, 20 Hz–20 kHz: -97.8 dB
}

// An error says what to do.
func ExampleAnalyse_wrongRecording() {
	recording := make([]float64, 48000)
	for i := range recording {
		recording[i] = 0.1 * math.Sin(2*math.Pi*440*float64(i)/48000)
	}
	_, err := tone.Analyse(recording, 48000, tone.Config{Frequency: 1000})
	fmt.Println(err)
	fmt.Println(errors.Is(err, tone.ErrAbsent))
	// Output:
	// tone: the tone is not there: no tone stands out at 1 kHz; the strongest thing there is 440 Hz at -20.0 dBFS: check which recording this is, and the frequency asked for
	// true
}

// Modulation distortion: a low tone modulates a high one at a quarter of its amplitude, by SMPTE RP
// 120 (from memory).
func ExampleModulation() {
	recording := make([]float64, 48000)
	for i := range recording {
		at := func(f float64) float64 { return math.Sin(2 * math.Pi * f * float64(i) / 48000) }
		x := 0.4*at(60) + 0.1*at(7000)
		recording[i] = x + 0.02*x*x
	}
	m, err := tone.Modulation(recording, 48000, 60, 7000, tone.Config{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("second order %.2f %%\n", m.Second.Value)
	for _, p := range m.Second.Products {
		fmt.Printf("%v at %.0f Hz: %.1f dB\n", p, p.Frequency, p.Value)
	}
	// Output:
	// second order 1.60 %
	// f2 − f1 at 6940 Hz: -41.9 dB
	// f2 + f1 at 7060 Hz: -41.9 dB
}

// Two tones near the top of the band make one at their difference. The microphone ends at 20.5 kHz.
func ExampleDifference() {
	recording := make([]float64, 48000)
	for i := range recording {
		at := func(f float64) float64 { return math.Sin(2 * math.Pi * f * float64(i) / 48000) }
		x := 0.25 * (at(19000) + at(20000))
		recording[i] = x + 0.02*x*x
	}
	d, err := tone.Difference(recording, 48000, 19000, 20000, tone.Config{MaxFrequency: 20500})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("second order %.2f %%\n", d.Second.Value)
	fmt.Println("third order", d.Third)
	// Output:
	// second order 0.25 %
	// third order not known
}

// A multitone, and everything beside its tones.
func ExampleAnalyseMultitone() {
	const rate, period = 48000, 4096
	base := float64(rate) / period
	tones := []float64{9 * base, 35 * base, 141 * base, 425 * base}
	random := rand.New(rand.NewPCG(1, 2))
	recording := make([]float64, 8*period)
	for i := range recording {
		var x float64
		for _, f := range tones {
			x += 0.1 * math.Sin(2*math.Pi*f*float64(i)/rate)
		}
		recording[i] = x + 0.01*x*x + 1e-5*random.NormFloat64()
	}
	r, err := tone.AnalyseMultitone(recording, rate, period, tones, tone.Config{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d tones, the first of %.1f dBFS\n", len(r.Tones), r.Tones[0].Value)
	fmt.Printf("distortion and noise %.1f dB, the noise alone %.0f dB\n", r.Total.TDPlusN.Value, r.Total.Noise)
	// Output:
	// 4 tones, the first of -20.0 dBFS
	// distortion and noise -54.9 dB, the noise alone -84 dB
}
