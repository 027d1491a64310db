package fitness_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// recordedStimulus returns a short stimulus and its recording by a recorder patched to the player:
// 0.1 s of silence, then the stimulus, 0.2 dB louder, with hiss at −100 dBFS rms. Yours comes from
// capture.Read.
func recordedStimulus() (*sweep.Stimulus, *capture.Recording) {
	s, err := sweep.New(sweep.Config{Duration: time.Second, Level: -12})
	if err != nil {
		panic(err)
	}
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: 500 * time.Millisecond, Gap: 400 * time.Millisecond})
	if err != nil {
		panic(err)
	}
	random := rand.New(rand.NewPCG(1, 1))
	r := &capture.Recording{Name: "direct.wav", SampleRate: 48000}
	for _, played := range st.Channels() {
		x := append(make([]float64, 4800), played...)
		for i := range x {
			x[i] = math.Pow(10, 0.2/20)*x[i] + 1e-5*random.NormFloat64()
		}
		r.Channels = append(r.Channels, x)
	}
	return st, r
}

// The input gain was 13 dB too high.
func ExampleInspect() {
	st, r := recordedStimulus()
	p, err := placement.Locate(r, st)
	fmt.Println("as it should be, fit:", fitness.Inspect(p, fitness.Config{Direct: true}).Err() == nil, err)

	for _, x := range r.Channels {
		for i, v := range x {
			x[i] = max(-1, min(1, v*math.Pow(10, 13.0/20)))
		}
	}
	p, _ = placement.Locate(r, st) // the report says what Locate does not find
	report := fitness.Inspect(p, fitness.Config{Direct: true})
	for _, f := range report.Findings {
		if f.Severity >= response.Warning {
			fmt.Println(f.Severity, f)
		}
	}
	fmt.Println("fit:", report.Err() == nil)
	// Output:
	// as it should be, fit: true <nil>
	// unfit direct.wav: left channel clips at 0.68 s (16 658 samples at full scale); lower the input gain and record again
	// unfit direct.wav: right channel clips at 0.68 s (16 657 samples at full scale); lower the input gain and record again
	// fit: false
}

// The measurements show how good a fit recording is.
func ExampleMeasured() {
	st, r := recordedStimulus()
	p, _ := placement.Locate(r, st) // the report says what Locate does not find
	for _, m := range fitness.Inspect(p, fitness.Config{Direct: true}).Channels {
		fmt.Printf("channel %d, %v: peak %.1f dBFS, noise %.0f dBFS rms, to 0.1 dB in %v\n", m.Channel, m.Side, m.Peak, m.Noise, m.Valid)
	}
	// Output:
	// channel 1, left: peak -11.8 dBFS, noise -100 dBFS rms, to 0.1 dB in 20 Hz–20 kHz
	// channel 2, right: peak -11.8 dBFS, noise -100 dBFS rms, to 0.1 dB in 20 Hz–20 kHz
}

// A file that was named twice shows only between recordings.
func ExampleSet() {
	st, first := recordedStimulus()
	second := *first
	second.Name = "direct again.wav"
	var set fitness.Set
	for _, r := range []*capture.Recording{first, &second} {
		p, _ := placement.Locate(r, st) // the report says what Locate does not find
		for _, f := range set.Inspect(p, fitness.Config{Direct: true}).Findings {
			if f.Severity >= response.Warning {
				fmt.Println(f)
			}
		}
	}
	// Output:
	// direct again.wav: left channel is the same as channel 1 of direct.wav; name the file that was meant, or record again
}

// A caller that continues only with fit recordings needs no more than an error.
func ExampleReport_Err() {
	st, r := recordedStimulus()
	r.Channels[0], r.Channels[1] = r.Channels[1], r.Channels[0]
	p, _ := placement.Locate(r, st) // the report says what Locate does not find
	err := fitness.Inspect(p, fitness.Config{Direct: true}).Err()
	fmt.Println(err)
	fmt.Println(errors.Is(err, fitness.ErrUnfit))
	// Output:
	// not fit to use:
	// capture: direct.wav: left and right are swapped; change over the cables, or turn the headphones round, and record again
	// true
}
