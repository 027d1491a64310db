package capture

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Kind is what is wrong with a recording.
type Kind int

// The kinds of fault. What each is found by, and from which level on, stands with Inspect.
const (
	NoSamples        Kind = iota // nothing in it, or numbers that are none
	WrongRate                    // not at the sample rate of the session
	Clipping                     // samples at full scale
	FlatTops                     // tops cut off below full scale, ahead of the converter
	LowLevel                     // too soft for the noise, or for the steps of its bit depth
	DCOffset                     // a constant beside the sound
	MainsHum                     // 50 or 60 Hz and their multiples
	DroppedSamples               // a block is missing, or held
	RepeatedSamples              // a block is there twice
	Clicks                       // single wrong samples
	SilentChannel                // nothing was recorded in a channel
	SwappedSides                 // left where right is said to be
	OppositePolarity             // one channel upside down, or all of a direct recording
	SameRecording                // one recording given as two
	CopiedChannel                // one channel copied to another
	CutTail                      // stopped before the sound had died away
	NoSweep                      // not the sweep it is said to hold
	Resampled                    // made at a lower sample rate
	LossyCodec                   // the treble taken away as coders do that save bits
	LengthUnstated               // the file does not say where it ends
	Disturbance                  // something else sounds while the sweep plays
	Wow                          // its speed wavers
)

var kindNames = [...]string{
	"no samples", "wrong sample rate", "clipping", "flat tops", "low level", "DC offset", "mains hum", "dropped samples", "repeated samples",
	"clicks", "silent channel", "swapped sides", "opposite polarity", "same recording", "copied channel", "cut tail", "no sweep", "resampled",
	"lossy codec", "length unstated", "disturbance", "wow",
}

// String is the kind in words.
func (k Kind) String() string {
	if k < 0 || int(k) >= len(kindNames) {
		return fmt.Sprintf("Kind(%d)", int(k))
	}
	return kindNames[k]
}

// Severity is how bad a finding is.
type Severity int

// The severities.
const (
	Note    Severity = iota // worth knowing; nothing computed from the recording changes
	Warning                 // usable, with the doubt that the finding states
	Unfit                   // nothing should be computed from the recording
)

// String is the severity in words.
func (s Severity) String() string {
	switch s {
	case Note:
		return "note"
	case Warning:
		return "warning"
	case Unfit:
		return "unfit"
	}
	return fmt.Sprintf("Severity(%d)", int(s))
}

// Figure is a number that a finding rests on.
type Figure struct {
	Name  string // "level", "offset", "samples"
	Value float64
	Unit  string // "dBFS", "Hz", "samples", "dB"; empty for a bare number
}

// Finding is one thing that is wrong with a recording, or worth knowing.
type Finding struct {
	Recording string // its name
	Kind      Kind
	Severity  Severity
	// Channel it is about, counted from 1; 0 for the recording as a whole.
	Channel int
	// Time and Duration in seconds from the recording's first sample; NaN for what has no place in time.
	Time, Duration float64
	// What is the finding in words, without the name of the recording: "left channel clips at 2.13 s (1 412 samples at full scale)".
	What string
	// Remedy is what to do about it: "lower the input gain and record again".
	Remedy string
	// Figures are the numbers behind it.
	Figures []Figure
}

// String is the finding in one line, as errors of this package are written.
func (f Finding) String() string {
	return fmt.Sprintf("capture: %s: %s; %s", f.Recording, f.What, f.Remedy)
}

// Figure returns the figure of a name, NaN if the finding has none of it.
func (f Finding) Figure(name string) float64 {
	for _, g := range f.Figures {
		if g.Name == name {
			return g.Value
		}
	}
	return math.NaN()
}

// ErrUnfit is returned by Report.Err for a recording that is not fit to use.
var ErrUnfit = errors.New("not fit to use")

// Report is what the inspection of recordings found.
type Report struct {
	// Findings, of one recording after the other, the worst first.
	Findings []Finding
	// Channels is what was measured of each channel.
	Channels []Measured
}

// Fit tells whether nothing was found that forbids the use of any of the recordings.
func (r *Report) Fit() bool { return r.Worst() < Unfit }

// Worst is the highest severity among the findings; Note if there are none.
func (r *Report) Worst() Severity {
	worst := Note
	for _, f := range r.Findings {
		worst = max(worst, f.Severity)
	}
	return worst
}

// AtLeast returns the findings of a severity and above.
func (r *Report) AtLeast(s Severity) []Finding {
	var found []Finding
	for _, f := range r.Findings {
		if f.Severity >= s {
			found = append(found, f)
		}
	}
	return found
}

// Of returns the findings of one kind.
func (r *Report) Of(k Kind) []Finding {
	var found []Finding
	for _, f := range r.Findings {
		if f.Kind == k {
			found = append(found, f)
		}
	}
	return found
}

// Err is nil for recordings that are fit, and else an error that is ErrUnfit and says why, a line for each finding.
func (r *Report) Err() error {
	var lines []string
	for _, f := range r.AtLeast(Unfit) {
		lines = append(lines, f.String())
	}
	if lines == nil {
		return nil
	}
	return fmt.Errorf("%w:\n%s", ErrUnfit, strings.Join(lines, "\n"))
}

// count writes a number with its thousands apart: "1 412".
func count(n int) string {
	s := strconv.Itoa(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + " " + s[i:]
	}
	return s
}

// signed writes a level: "−63.2".
func signed(v float64) string {
	return strings.Replace(strconv.FormatFloat(v, 'f', 1, 64), "-", "−", 1)
}

// decibels is 20 log10 of an amplitude, −Inf for nothing.
func decibels(amplitude float64) float64 { return 20 * math.Log10(amplitude) }

// signed2 writes a correlation: "−0.98".
func signed2(v float64) string {
	return strings.Replace(strconv.FormatFloat(v, 'f', 2, 64), "-", "−", 1)
}
