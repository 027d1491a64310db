package response

import "fmt"

// FindingKind names the subject of a finding in words: "clipping", "mains hum". The packages that
// look for faults list their kinds.
type FindingKind string

// Severity is how bad a finding is.
type Severity int

// The severities.
const (
	Note    Severity = iota // worth knowing; it changes no result
	Warning                 // the recording is usable, with the doubt that the finding states
	Unfit                   // do not compute anything from the recording
)

// String returns the severity in words.
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

// Finding is one fault of a recording, or one remark about it.
type Finding struct {
	Recording string // its name
	Kind      FindingKind
	Severity  Severity
	// Channel is the channel of the finding, counted from 1; 0 means the recording as a whole.
	Channel int
	// Time and Duration are in seconds from the recording's first sample. They are NaN for a
	// finding that has no position in time.
	Time, Duration float64
	// What says what is wrong, in words, without the name of the recording: "left channel clips at
	// 2.13 s (1 412 samples at full scale)".
	What string
	// Remedy says what to do about it: "lower the input gain and record again". It is empty if What
	// says so itself.
	Remedy string
	// Figures are the numbers behind the finding by name: "level", "samples".
	Figures map[string]Figure
}

// String returns the finding in one line: the name of the recording if it has one, what is wrong,
// and what to do.
func (f Finding) String() string {
	line := f.What
	if f.Recording != "" {
		line = f.Recording + ": " + line
	}
	if f.Remedy != "" {
		line += "; " + f.Remedy
	}
	return line
}
