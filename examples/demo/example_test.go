package demo_test

import (
	"fmt"
	"os"
	"path/filepath"

	"example.com/earnest/examples/demo"
)

// A session for trials: an invented pair, put on the rig once.
func ExampleWrite() {
	folder, err := os.MkdirTemp("", "demo")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(folder)
	err = demo.Write(folder, demo.Options{Seconds: 1, Seatings: 1, Material: -1, Alone: true}, func(step string) { fmt.Println(step) })
	if err != nil {
		fmt.Println(err)
		return
	}
	files, err := filepath.Glob(filepath.Join(folder, "*"))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, f := range files {
		fmt.Println(filepath.Base(f))
	}
	// Output:
	// simulating the recordings of Wexcombe Ardle (invented)
	// calibrator.wav
	// direct.wav
	// impedance-reference.wav
	// impedance.wav
	// microphone.txt
	// noise-background.wav
	// noise-covered.wav
	// noise-open.wav
	// seating-1.wav
	// session.toml
}
