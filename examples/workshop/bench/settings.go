package bench

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"example.com/earnest/internal/duration"
)

// Conditions are the settings on which a recording depends: the stimulus, the simulated rig and the
// pair.
type Conditions struct {
	Duration   float64 // of the sweep, s; rounded to the nearest synchronised sweep
	Level      float64 // of the sweep, dBFS peak
	Noise      float64 // at the microphone, dBFS rms; −Inf for none
	Pink       float64 // share of pink noise, 0 to 1
	Reflection float64 // from the room, dB re the direct sound; −Inf for none
	Delay      float64 // of the reflection, ms after the direct sound
	Drift      float64 // of the recorder's clock, parts per million
	Seatings   float64 // number of seatings
	Spread     float64 // standard deviation between seatings, dB
	Second     float64 // harmonic, dB re a fundamental of −12 dBFS; −Inf for none
	Third      float64 // the same
	Clock      float64 // 1: the recording is brought to the player's clock
}

// Analysis holds the settings of the analysis.
type Analysis struct {
	Direct    float64 // 1: the direct recording is divided out
	Smoothing float64 // 0 none, n for 1/n octave, Hearing for the bands of hearing
	Before    float64 // the window before the peak, ms
	After     float64 // the window after the peak, ms
	Linear    float64 // 1: the frequency axis of the pictures is linear
}

// Hearing is the Smoothing over equivalent rectangular bandwidths.
const Hearing = -1

// Settings are all settings of the workshop. They are comparable.
type Settings struct {
	Conditions
	Analysis
}

// Default returns the settings at the start, a measurement with small errors.
func Default() Settings {
	return Settings{
		Conditions{Duration: 1, Level: -12, Noise: -80, Pink: 1, Reflection: math.Inf(-1), Delay: 5,
			Seatings: 1, Second: -50, Third: -60, Clock: 1},
		Analysis{Direct: 1, Smoothing: 24, Before: 60, After: 300},
	}
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

// RangeError is the error for a setting that is out of its range or not a number.
type RangeError struct {
	Quantity Quantity
	Given    string // as written
}

func (e *RangeError) Error() string {
	q := e.Quantity
	none := ""
	if q.None {
		none = ", or none"
	}
	return fmt.Sprintf("bench: %s: %q cannot be set; give a number from %g to %g%s", q.Name, e.Given, q.Min, q.Max, none)
}

// Set parses a value written by Format. The error is a *RangeError.
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

// Of returns the value of the quantity in s.
func (q Quantity) Of(s Settings) float64 { return *q.field(&s) }

func (q Quantity) allows(v float64) bool {
	if math.IsInf(v, -1) {
		return q.None
	}
	return v >= q.Min && v <= q.Max && (!q.Whole || v == math.Trunc(v))
}

// Window returns the length of the window before and after the peak.
func (r *Result) Window() (before, after time.Duration) {
	return milliseconds(r.Settings.Before), milliseconds(r.Settings.After)
}

// none is the text for an absent quantity.
const none = "none"

// Format writes a value so that Set reads it back.
func Format(v float64) string {
	if math.IsInf(v, -1) {
		return none
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

func milliseconds(ms float64) time.Duration { return duration.Of(ms / 1000) }
