package bench

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"example.com/earnest/internal/duration"
)

// Conditions are what a recording depends on: what is played, and the
// simulated rig and pair that it is played through.
type Conditions struct {
	Duration   float64 // of the sweep, s; the one made is the nearest that is synchronised
	Level      float64 // of the sweep, dBFS peak
	Noise      float64 // that the microphone hears, dBFS rms; −Inf for none
	Pink       float64 // share of the noise that falls by 3 dB per octave, 0 to 1
	Reflection float64 // from the room, dB re the direct sound; −Inf for none
	Delay      float64 // of the reflection, ms after the direct sound
	Drift      float64 // of the recorder's clock, parts per million
	Seatings   float64 // how many times the pair is put on
	Spread     float64 // standard deviation of what a seating changes, dB
	Second     float64 // harmonic, dB re a fundamental of −12 dBFS; −Inf for none
	Third      float64 // the same
	Clock      float64 // 1: the recording is brought to the player's clock
}

// Analysis is what is done with the recordings.
type Analysis struct {
	Direct    float64 // 1: the direct recording is divided out
	Smoothing float64 // 0 none, n for 1/n octave, Hearing for the bands of hearing
	Before    float64 // the window before the peak, ms
	After     float64 // the window after the peak, ms
	Linear    float64 // 1: the frequency axis of the pictures is linear
}

// Hearing is the Smoothing over equivalent rectangular bandwidths.
const Hearing = -1

// Settings are everything that a workshop can choose. They are comparable.
type Settings struct {
	Conditions
	Analysis
}

// Default is a measurement with little wrong: where the workshop begins.
func Default() Settings {
	return Settings{
		Conditions{Duration: 1, Level: -12, Noise: -80, Pink: 1, Reflection: math.Inf(-1), Delay: 5,
			Seatings: 1, Second: -50, Third: -60, Clock: 1},
		Analysis{Direct: 1, Smoothing: 24, Before: 60, After: 300},
	}
}

// RangeError is a setting that is out of its range or not a number.
type RangeError struct {
	Quantity Quantity
	Given    string // as it was written
}

func (e *RangeError) Error() string {
	q := e.Quantity
	none := ""
	if q.None {
		none = ", or none"
	}
	return fmt.Sprintf("bench: %s: %q cannot be set; give a number from %g to %g%s", q.Name, e.Given, q.Min, q.Max, none)
}

// Check returns a *RangeError for the first setting that is out of range.
func (s Settings) Check() error {
	for _, q := range Quantities {
		if v := q.Of(s); !q.allows(v) {
			return &RangeError{q, Format(v)}
		}
	}
	return nil
}

// Set reads a setting as Format writes it. The error is a *RangeError.
func (q Quantity) Set(s *Settings, text string) error {
	v, err := strconv.ParseFloat(text, 64)
	if text == none {
		v, err = math.Inf(-1), nil
	}
	if err != nil || !q.allows(v) {
		return &RangeError{q, text}
	}
	*q.field(s) = v
	return nil
}

// Of is the value that settings have of the quantity.
func (q Quantity) Of(s Settings) float64 { return *q.field(&s) }

func (q Quantity) allows(v float64) bool {
	if math.IsInf(v, -1) {
		return q.None
	}
	return v >= q.Min && v <= q.Max && (!q.Whole || v == math.Trunc(v))
}

// none is how the absence of something is written.
const none = "none"

// Format writes a value so that Set reads it back.
func Format(v float64) string {
	if math.IsInf(v, -1) {
		return none
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

func milliseconds(ms float64) time.Duration { return duration.Of(ms / 1000) }

// Window is the window of the response, before its peak and after.
func (r *Result) Window() (before, after time.Duration) {
	return milliseconds(r.Settings.Before), milliseconds(r.Settings.After)
}
