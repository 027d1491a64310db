package capture_test

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"time"

	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

// tone returns a recording of 10 ms of 500 Hz at half of full scale, in two channels.
func tone() *capture.Recording {
	r := &capture.Recording{Name: "tone.wav", SampleRate: 48000, Channels: [][]float64{make([]float64, 480), make([]float64, 480)}}
	for i := range r.Len() {
		r.Channels[0][i] = 0.5 * math.Sin(2*math.Pi*500*float64(i)/48000)
		r.Channels[1][i] = r.Channels[0][i]
	}
	return r
}

func Example() {
	folder, err := os.MkdirTemp("", "capture")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(folder)
	path := filepath.Join(folder, "tone.wav")
	if err := capture.Write(path, tone(), capture.WriteConfig{}); err != nil {
		fmt.Println(err)
		return
	}

	r, err := capture.Read(path)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: %d channels, %v, %d Hz, %.3f s\n", r.Name, len(r.Channels), r.Format, r.SampleRate, r.Duration())
	left, err := r.Channel(1)
	if err != nil {
		fmt.Println(err)
		return
	}
	peak := 0.0
	for _, v := range left {
		peak = max(peak, math.Abs(v))
	}
	fmt.Printf("left channel: %.2f dBFS peak\n", 20*math.Log10(peak))
	// Output:
	// tone.wav: 2 channels, 24-bit integer, 48000 Hz, 0.010 s
	// left channel: -6.02 dBFS peak
}

// The file is not a recording, whatever its name.
func ExampleDecode() {
	_, err := capture.Decode(strings.NewReader("frequency,level\n20,-3.1\n"), "left.wav", capture.ReadConfig{})
	fmt.Println(err)
	fmt.Println(errors.Is(err, capture.ErrNotWAV))
	// Output:
	// capture: left.wav: starts with "frequency,le"; not a WAV recording; export as WAV (at byte 0)
	// true
}

// A copy stopped half-way. The part that is there may be enough.
func ExampleDecode_cutShort() {
	var whole bytes.Buffer
	if err := capture.Encode(&whole, tone(), capture.WriteConfig{}); err != nil {
		fmt.Println(err)
		return
	}
	r, err := capture.Decode(bytes.NewReader(whole.Bytes()[:whole.Len()/2]), "direct.wav", capture.ReadConfig{})
	if errors.Is(err, capture.ErrTruncated) && r.Duration() > 0.004 {
		fmt.Printf("going on with %d samples: %v\n", r.Len(), err)
	}
	// Output: going on with 233 samples: capture: direct.wav: the file is cut short: 0.005 s are there of the 0.010 s that its header promises; copy or record it again
}

// An example of WriteConfig's defaults: no file is replaced unless Overwrite is set.
func ExampleWrite() {
	folder, err := os.MkdirTemp("", "capture")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(folder)
	path := filepath.Join(folder, "direct.wav")

	r := &capture.Recording{Name: "direct.wav", SampleRate: 48000, Channels: [][]float64{make([]float64, 48000)}}
	for i := range r.Channels[0] {
		r.Channels[0][i] = 1.2 * math.Sin(2*math.Pi*1000*float64(i)/48000)
	}
	err = capture.Write(path, r, capture.WriteConfig{})
	fmt.Println(errors.Is(err, capture.ErrFullScale))
	for i := range r.Channels[0] {
		r.Channels[0][i] /= 2
	}
	fmt.Println(capture.Write(path, r, capture.WriteConfig{}))
	fmt.Println(errors.Is(capture.Write(path, r, capture.WriteConfig{}), os.ErrExist))
	// Output:
	// true
	// <nil>
	// true
}

// A stimulus becomes a file to be played. Before it is played: take the headphones off, start at
// the lowest level and raise it in steps.
func ExampleEncode() {
	s, err := sweep.New(sweep.Config{Duration: time.Second, Level: -20})
	if err != nil {
		fmt.Println(err)
		return
	}
	stimulus, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s})
	if err != nil {
		fmt.Println(err)
		return
	}
	r := &capture.Recording{Name: "stimulus.wav", SampleRate: s.SampleRate(), Channels: stimulus.Channels()}
	var file bytes.Buffer // any io.Writer; Write writes a file, completely or not at all
	if err := capture.Encode(&file, r, capture.WriteConfig{Format: capture.Format{Bits: 16}}); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f s, %d bytes\n", r.Duration(), file.Len())
	// Output: 10.97 s, 2106732 bytes
}

func ExampleFromBuffer() {
	r := &capture.Recording{Name: "tone.wav", SampleRate: 48000, Channels: [][]float64{{0.1, 0.2}, {-0.1, -0.2}}}
	b := r.Buffer() // for other packages that use audio.FloatBuffer
	fmt.Println(b.Data)
	back, err := capture.FromBuffer(b, "tone.wav")
	fmt.Println(back.Channels, err)
	// Output:
	// [0.1 -0.1 0.2 -0.2]
	// [[0.1 0.2] [-0.1 -0.2]] <nil>
}

// Of a recording of an hour, memory holds one minute at a time.
func ExampleReadBlocks() {
	folder, err := os.MkdirTemp("", "capture")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(folder)
	path := filepath.Join(folder, "tone.wav") // in place of the hour
	if err := capture.Write(path, tone(), capture.WriteConfig{}); err != nil {
		fmt.Println(err)
		return
	}

	peak := 0.0
	err = capture.ReadBlocks(path, 60*48000, func(b capture.Block) (next int, err error) {
		for _, v := range b.Channels[0] {
			peak = max(peak, math.Abs(v))
		}
		return b.From + b.Len(), nil
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f dBFS peak\n", 20*math.Log10(peak))
	// Output: -6.02 dBFS peak
}
