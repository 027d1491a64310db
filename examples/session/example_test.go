//go:build !race

package session_test

import (
	"fmt"
	"os"
	"strings"

	"example.com/earnest/examples/demo"
	"example.com/earnest/examples/session"
)

// From a session file to figures: read it, measure what it names, judge it.
func ExampleRead() {
	folder, err := os.MkdirTemp("", "session")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(folder)
	small := demo.Options{Seconds: 1, Seatings: 1, Material: -1, Alone: true}
	if err := demo.Write(folder, small, func(string) {}); err != nil {
		fmt.Println(err)
		return
	}
	s, err := session.Read(folder)
	if err != nil {
		fmt.Println(err)
		return
	}
	results, err := s.Review(nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	j := results.Judgement
	fmt.Printf("%s: %.1f dB rms off %s\n", s.Headphones.Name, j.Mean.RMS.Value, j.Target.Name)
	for _, note := range results.Notes {
		if strings.HasPrefix(note, "left") {
			fmt.Println(note)
		}
	}
	// Output:
	// Wexcombe Ardle (invented): 1.6 dB rms off flat
	// left side: only one seating, so the scatter of seatings is not known.
}

// A session file needs little: what was measured, on what, and the recordings.
func ExampleDecode() {
	s, err := session.Decode([]byte(`
		[headphones]
		name = "Finchale, second sample"
		[rig]
		name = "flat plate, measurement microphone"
		[direct]
		file = "direct.wav"
		[[seating]]
		left  = { file = "first-left.wav" }
		right = { file = "first-right.wav" }
	`))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(s.Headphones.Name, "on", s.Rig.Name)

	_, err = session.Decode([]byte("[rig]\nmicrofone = \"mic.txt\""))
	fmt.Println(err)
	// Output:
	// Finchale, second sample on flat plate, measurement microphone
	// session file cannot be used: line 2: unknown key "rig.microfone"; the nearest known one is "rig.microphone"
}

// The first recording of a pair is compared with what it was a year later; a missing session gives
// an error.
func ExampleCompareSessions() {
	_, _, err := session.CompareSessions([]string{"wren-2024", "wren-2025"}, session.Compare{}, func(string) {})
	fmt.Println(err)
	// Output: session: wren-2024: file does not exist; name a session file or the folder that holds session.toml
}
