package programme_test

import (
	"fmt"

	"example.com/earnest/internal/rig"
	"example.com/earnest/response/programme"
)

// The recorder was started 1.5 s before the player, and a wire was swapped.
func ExampleAlign() {
	const fs = 48000
	tune := rig.Music(fs, 6, 1)[0]
	late := make([]float64, 3*fs/2, 3*fs/2+len(tune))
	for _, v := range tune {
		late = append(late, -0.5*v)
	}
	a, err := programme.Align(
		programme.Channel{Name: "direct.wav", Samples: tune, SampleRate: fs},
		programme.Channel{Name: "through.wav", Samples: late, SampleRate: fs})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.4f s later, %.1f s shared, inverted: %v\n", a.Delay, a.Shared(), a.Inverted)
	// Output: 1.5000 s later, 6.0 s shared, inverted: true
}
