package capture_test

import (
	"fmt"

	"example.com/earnest/response/capture"
)

// The recorder was left running: the stimulus twice, then a third time that was stopped.
func ExampleRecording_Plays() {
	st, r := recordedStimulus()
	evening := &capture.Recording{Name: "evening.wav", SampleRate: r.SampleRate}
	for _, x := range r.Channels {
		long := append(make([]float64, 30_000), x...)
		long = append(append(long, make([]float64, 70_000)...), x...)
		evening.Channels = append(evening.Channels, append(long, x[:90_000]...))
	}

	plays, err := evening.Plays(st)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range plays {
		fmt.Printf("%s: from %.1f s on, whole: %v\n", p.Recording.Name, p.Start, p.Whole())
		for _, f := range p.Findings {
			fmt.Println(f)
		}
	}
	// Output:
	// evening.wav (1st of 3): from 0.7 s on, whole: true
	// evening.wav (2nd of 3): from 7.0 s on, whole: true
	// evening.wav (3rd of 3): from 11.7 s on, whole: false
	// evening.wav: 3rd play is cut short at 13.50 s; leave it out, or play the stimulus to its end and record that again
}
