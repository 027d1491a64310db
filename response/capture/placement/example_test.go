package placement_test

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// The recorder was left running: it holds the stimulus twice, and a third time that was stopped.
func ExamplePlacement_Plays() {
	s, err := sweep.New(sweep.Config{Duration: time.Second, Level: -12})
	if err != nil {
		panic(err)
	}
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: 500 * time.Millisecond, Gap: 400 * time.Millisecond})
	if err != nil {
		panic(err)
	}
	evening := &capture.Recording{Name: "evening.wav", SampleRate: 48000} // yours comes from capture.Read
	for _, x := range st.Channels() {
		long := append(make([]float64, 30_000), x...)
		long = append(append(long, make([]float64, 70_000)...), x...)
		evening.Channels = append(evening.Channels, append(long, x[:90_000]...))
	}

	p, err := placement.Locate(evening, st)
	if err != nil {
		fmt.Println(err)
		return
	}
	plays, err := p.Plays()
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
	// evening.wav (1st of 3): from 0.6 s on, whole: true
	// evening.wav (2nd of 3): from 6.8 s on, whole: true
	// evening.wav (3rd of 3): from 11.4 s on, whole: false
	// evening.wav: 3rd play is cut short at 13.30 s; leave it out, or play the stimulus to its end and record that again
}

// A file that is too long for memory: only the plays in it are kept.
func ExampleReadPlays() {
	s, err := sweep.New(sweep.Config{Duration: time.Second, Level: -12})
	if err != nil {
		panic(err)
	}
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: 500 * time.Millisecond, Gap: 400 * time.Millisecond})
	if err != nil {
		panic(err)
	}
	folder, err := os.MkdirTemp("", "placement")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(folder)
	path := filepath.Join(folder, "evening.wav") // yours is longer
	evening := &capture.Recording{SampleRate: 48000, Channels: st.Channels()}
	if err := capture.Write(path, evening, capture.WriteConfig{}); err != nil {
		fmt.Println(err)
		return
	}

	plays, err := placement.ReadPlays(path, st)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range plays {
		fmt.Printf("%s: from %.1f s on, whole: %v\n", p.Recording.Name, p.Start, p.Whole())
	}
	// Output: evening.wav: from 0.0 s on, whole: true
}

// The stimulus has additional parts. The recorder missed its beginning.
func ExampleFindParts() {
	s, err := sweep.New(sweep.Config{Duration: time.Second, Level: -12})
	if err != nil {
		panic(err)
	}
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Asks: []sweep.Question{sweep.AskModulation}})
	if err != nil {
		panic(err)
	}
	late := &capture.Recording{Name: "late.wav", SampleRate: 48000} // yours comes from capture.Read
	for _, x := range st.Channels() {
		late.Channels = append(late.Channels, x[5*48000:])
	}
	found := placement.FindParts(late, st)
	for _, part := range st.Parts() {
		x, err := found.Cut(1, part, 0, 0)
		fmt.Printf("%v: from %.1f s on, %d samples, error %v\n", part, found.At(part), len(x), err)
	}
	// Output:
	// timing mark at -12 dBFS: from 6.0 s on, 9600 samples, error <nil>
	// tones of 60 Hz and 7000 Hz at -12 dBFS: from 6.8 s on, 96000 samples, error <nil>
	// tones of 19000 Hz and 20000 Hz at -12 dBFS: from 9.4 s on, 96000 samples, error <nil>
	// timing mark at -12 dBFS: from 12.0 s on, 9600 samples, error <nil>
}
