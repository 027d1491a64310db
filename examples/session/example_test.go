package session_test

import (
	"fmt"

	"example.com/earnest/examples/session"
)

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
