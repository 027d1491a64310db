package programme_test

import (
	"fmt"
	"math"
	"math/rand/v2"

	"example.com/earnest/response/programme"
)

const sampleRate = 48000

// tune returns invented music: plucked notes, four a second, each with its overtones and a click of
// noise.
func tune(seconds int, seed uint64) []float64 {
	random := rand.New(rand.NewPCG(seed, 0))
	x := make([]float64, seconds*sampleRate)
	for start := 0; start < len(x); start += sampleRate / 4 {
		pitch := 55 * math.Pow(2, float64(random.IntN(36))/12)
		for i := range x[start:] {
			t := float64(i) / sampleRate
			if t > 1.5 {
				break
			}
			for n := 1.0; n <= 12; n++ {
				x[start+i] += 0.05 / n * math.Exp(-3*t*n) * math.Sin(2*math.Pi*pitch*n*t)
			}
			x[start+i] += 0.1 * math.Exp(-60*t) * random.NormFloat64()
		}
	}
	return x
}

// voice returns an imitation of speech: four syllables a second of noise, which falls by 6 dB per
// octave above 500 Hz.
func voice(seconds int) []float64 {
	random := rand.New(rand.NewPCG(3, 0))
	x := make([]float64, seconds*sampleRate)
	var low float64
	for i := range x {
		t := float64(i) / sampleRate
		low += 2 * math.Pi * 500 / sampleRate * (random.NormFloat64() - low)
		x[i] = low * math.Pow(math.Sin(4*math.Pi*t), 2)
	}
	return x
}

// treble passes the treble and attenuates the bass, as a small driver does. It delays by late
// samples and inverts the polarity.
func treble(x []float64, late int) []float64 {
	y := make([]float64, len(x)+late)
	var last, out float64
	for i, v := range x {
		out = 0.97*out + 0.985*(v-last) // first order, 3 dB down at 233 Hz
		last = v
		y[i+late] = -0.5 * out
	}
	return y
}

func Example() {
	music := tune(8, 1) // invented; yours comes from capture.Read and ChannelOf
	direct := programme.Channel{Name: "direct.wav", Samples: music, SampleRate: sampleRate}
	through := programme.Channel{Name: "through.wav", Samples: treble(music, 4800), SampleRate: sampleRate}

	c, err := programme.Compare(direct, through, programme.Config{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("delay %.3f s, %.1f s compared, %.0f %% of the energy\n", c.Alignment.Delay, c.Alignment.To-c.Alignment.From, 100*c.Covered)
	for _, b := range c.Bands(3) {
		if b.Nominal == 63 || b.Nominal == 250 || b.Nominal == 4000 {
			fmt.Printf("%5.0f Hz %+6.1f dB\n", b.Nominal, b.Difference)
		}
	}
	for _, f := range c.Findings {
		fmt.Println(f.What)
	}
	// Output:
	// delay 0.100 s, 8.0 s compared, 100 % of the energy
	//    63 Hz  -17.7 dB
	//   250 Hz   -8.9 dB
	//  4000 Hz   -6.0 dB
	// The polarity of through.wav is opposite to that of direct.wav; this is corrected. Check the wiring.
}

// Find says whether a recording is of a piece, in a fraction of the time that a comparison takes.
func ExampleFind() {
	draw := rand.New(rand.NewPCG(1, 1))
	piece := programme.Channel{Name: "piece", Samples: make([]float64, 6*48000), SampleRate: 48000}
	for i := range piece.Samples {
		piece.Samples[i] = 0.1 * draw.NormFloat64()
	}
	later := piece
	later.Samples = append(make([]float64, 24000), piece.Samples...)
	delay, found := programme.Find(piece, later)
	fmt.Printf("%v, %.2f s later\n", found, delay)
	// Output: true, 0.50 s later
}
