package programme_test

import (
	"errors"
	"fmt"

	"example.com/earnest/internal/rig"
	"example.com/earnest/response/programme"
)

// treble lets the treble through and holds the bass back, as a small driver
// does; late is by how many samples, and turned that its wires are swapped.
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
	const fs = 48000
	tune := rig.Music(fs, 8, 1)[0] // invented; yours comes from capture.Read and ChannelOf
	direct := programme.Channel{Name: "direct.wav", Samples: tune, SampleRate: fs}
	through := programme.Channel{Name: "through.wav", Samples: treble(tune, 4800), SampleRate: fs}

	c, err := programme.Compare(direct, through, programme.Config{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("delay %.3f s, %.1f s compared, %.0f %% of the energy\n", c.Alignment.Delay, c.Alignment.To-c.Alignment.From, 100*c.Covered)
	for _, b := range c.Bands() {
		if b.Nominal == 63 || b.Nominal == 250 || b.Nominal == 4000 {
			fmt.Printf("%5.0f Hz %+6.1f dB\n", b.Nominal, b.Difference)
		}
	}
	for _, f := range c.Findings {
		fmt.Println(f.What)
	}
	// Output:
	// delay 0.100 s, 8.0 s compared, 100 % of the energy
	//    63 Hz  -17.5 dB
	//   250 Hz   -8.9 dB
	//  4000 Hz   -6.0 dB
	// The polarity of through.wav is turned with respect to direct.wav; it is turned back here. Check the wiring.
}

// What a voice loses and gains, in the words of the trade.
func ExampleComparison_Voice() {
	const fs = 48000
	voice := rig.Speech(fs, 8, 1)[0]
	c, err := programme.Compare(
		programme.Channel{Name: "direct.wav", Samples: voice, SampleRate: fs},
		programme.Channel{Name: "through.wav", Samples: treble(voice, 0), SampleRate: fs}, programme.Config{})
	if err != nil {
		fmt.Println(err)
		return
	}
	v := c.Voice()
	fmt.Printf("%.1f dB rms, weighted by what speech needs\n", v.Deviation.Value)
	for _, p := range v.Parts {
		if p.Level.Known() {
			fmt.Printf("%-10s %+.1f dB\n", p.Name, p.Level.Value)
		}
	}
	// Output:
	// 0.8 dB rms, weighted by what speech needs
	// low voice  -5.3 dB
	// body       -1.2 dB
	// presence   +0.4 dB
	// sibilance  +0.4 dB
	// air        +0.4 dB
}

// Two tunes are not the same tune.
func ExampleDifferentError() {
	const fs = 48000
	_, err := programme.Compare(
		programme.Channel{Name: "direct.wav", Samples: rig.Music(fs, 6, 1)[0], SampleRate: fs},
		programme.Channel{Name: "through.wav", Samples: rig.Music(fs, 6, 2)[0], SampleRate: fs}, programme.Config{})
	var different *programme.DifferentError
	fmt.Println(errors.As(err, &different), errors.Is(err, programme.ErrDifferent))
	// Output: true true
}
