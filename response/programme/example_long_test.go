//go:build !race

package programme_test

import (
	"errors"
	"fmt"

	"example.com/earnest/response/programme"
)

// The effect on a voice, in the words of the trade.
func ExampleComparison_Voice() {
	spoken := voice(8)
	c, err := programme.Compare(
		programme.Channel{Name: "direct.wav", Samples: spoken, SampleRate: sampleRate},
		programme.Channel{Name: "through.wav", Samples: treble(spoken, 0), SampleRate: sampleRate}, programme.Config{})
	if err != nil {
		fmt.Println(err)
		return
	}
	v := c.Voice
	fmt.Printf("%.1f dB rms, weighted by band importance\n", v.Deviation.Value)
	for _, p := range v.Parts {
		if p.Level.Known() {
			fmt.Printf("%-10s %+.1f dB\n", p.Name, p.Level.Value)
		}
	}
	// Output:
	// 0.7 dB rms, weighted by band importance
	// low voice  -5.4 dB
	// body       -1.3 dB
	// presence   +0.4 dB
	// sibilance  +0.4 dB
	// air        +0.4 dB
}

// Two different tunes are refused.
func ExampleCompare_differentMaterial() {
	_, err := programme.Compare(
		programme.Channel{Name: "direct.wav", Samples: tune(6, 1), SampleRate: sampleRate},
		programme.Channel{Name: "through.wav", Samples: tune(6, 2), SampleRate: sampleRate}, programme.Config{})
	fmt.Println(errors.Is(err, programme.ErrDifferent))
	// Output: true
}

// For two seconds a cup sits badly, and the sound is softer.
func ExampleNewSpectrogram() {
	x := tune(8, 4)
	y := treble(x, 1000)
	for i := 3 * sampleRate; i < 5*sampleRate; i++ {
		y[i] *= 0.8 // −1.9 dB
	}
	direct := programme.Channel{Name: "direct.wav", Samples: x, SampleRate: sampleRate}
	through := programme.Channel{Name: "through.wav", Samples: y, SampleRate: sampleRate}
	c, err := programme.Compare(direct, through, programme.Config{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, f := range programme.NewSpectrogram(direct, through, c.Alignment).Findings {
		fmt.Printf("%v: from %.0f s on, for %.0f s: %.0f dB\n", f.Kind, f.Time, f.Duration, f.Figures["change"].Value)
	}
	// Output: wavering: from 3 s on, for 2 s: -2 dB
}
