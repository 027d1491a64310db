package capture

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.com/earnest/response"
)

// The kinds of fault. What each is found by, and from which level on, stands with Inspect.
const (
	NoSamples        response.FindingKind = "no samples"        // nothing in it, or numbers that are none
	WrongRate        response.FindingKind = "wrong sample rate" // not at the sample rate of the session
	Clipping         response.FindingKind = "clipping"          // samples at full scale
	FlatTops         response.FindingKind = "flat tops"         // tops cut off below full scale, ahead of the converter
	LowLevel         response.FindingKind = "low level"         // too soft for the noise, or for the steps of its bit depth
	DCOffset         response.FindingKind = "DC offset"         // a constant beside the sound
	MainsHum         response.FindingKind = "mains hum"         // 50 or 60 Hz and their multiples
	DroppedSamples   response.FindingKind = "dropped samples"   // a block is missing, or held
	RepeatedSamples  response.FindingKind = "repeated samples"  // a block is there twice
	Clicks           response.FindingKind = "clicks"            // single wrong samples
	SilentChannel    response.FindingKind = "silent channel"    // nothing was recorded in a channel
	SwappedSides     response.FindingKind = "swapped sides"     // left where right is said to be
	OppositePolarity response.FindingKind = "opposite polarity" // one channel upside down, or all of a direct recording
	SameRecording    response.FindingKind = "same recording"    // one recording given as two
	CopiedChannel    response.FindingKind = "copied channel"    // one channel copied to another
	CutTail          response.FindingKind = "cut tail"          // stopped before the sound had died away
	NoSweep          response.FindingKind = "no sweep"          // not the sweep it is said to hold
	Resampled        response.FindingKind = "resampled"         // made at a lower sample rate
	LossyCodec       response.FindingKind = "lossy codec"       // the treble taken away as coders do that save bits
	LengthUnstated   response.FindingKind = "length unstated"   // the file does not say where it ends
	Disturbance      response.FindingKind = "disturbance"       // something else sounds while the sweep plays
	Wow              response.FindingKind = "wow"               // its speed wavers
)

// figures are the numbers behind a finding by name.
type figures = map[string]response.Figure

// figure returns a number behind a finding. An empty unit stands for a plain number.
func figure(value float64, unit string) response.Figure {
	if unit == "" {
		unit = "1"
	}
	return response.Figure{Value: value, Unit: unit, Uncertainty: math.NaN()}
}

// ErrUnfit is returned by Report.Err for a recording that is not fit to use.
var ErrUnfit = errors.New("not fit to use")

// Report is what the inspection of recordings found.
type Report struct {
	// Findings, of one recording after the other, the worst first.
	Findings []response.Finding
	// Channels is what was measured of each channel.
	Channels []Measured
}

// Fit tells whether nothing was found that forbids the use of any of the recordings.
func (r *Report) Fit() bool { return r.Worst() < response.Unfit }

// Worst is the highest severity among the findings; response.Note if there are none.
func (r *Report) Worst() response.Severity {
	worst := response.Note
	for _, f := range r.Findings {
		worst = max(worst, f.Severity)
	}
	return worst
}

// AtLeast returns the findings of a severity and above.
func (r *Report) AtLeast(s response.Severity) []response.Finding {
	var found []response.Finding
	for _, f := range r.Findings {
		if f.Severity >= s {
			found = append(found, f)
		}
	}
	return found
}

// Of returns the findings of one kind.
func (r *Report) Of(k response.FindingKind) []response.Finding {
	var found []response.Finding
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
	for _, f := range r.AtLeast(response.Unfit) {
		lines = append(lines, "capture: "+f.String())
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
