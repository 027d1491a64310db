package fitness

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// The kinds of fault. Inspect states the criterion and the threshold of each.
const (
	NoSamples response.FindingKind = "no samples"        // nothing in it, or values that are not numbers
	WrongRate response.FindingKind = "wrong sample rate" // not at the sample rate of the session
	Clipping  response.FindingKind = "clipping"          // samples at full scale
	FlatTops  response.FindingKind = "flat tops"         // tops cut off below full scale, ahead of the converter
	// too soft for the noise, or for the steps of its bit depth
	LowLevel         response.FindingKind = "low level"
	LowBitDepth      response.FindingKind = "low bit depth"     // the steps of 12 bits or fewer
	DCOffset         response.FindingKind = "DC offset"         // a constant beside the sound
	MainsHum         response.FindingKind = "mains hum"         // 50 or 60 Hz and their multiples
	SteadyTone       response.FindingKind = "steady tone"       // a whistle that sounds in the silences too
	DroppedSamples   response.FindingKind = "dropped samples"   // a block is missing, or held
	RepeatedSamples  response.FindingKind = "repeated samples"  // a block is there twice
	Clicks           response.FindingKind = "clicks"            // single wrong samples
	SilentChannel    response.FindingKind = "silent channel"    // a channel without a signal, or in which it stops
	LevelStep        response.FindingKind = "level step"        // the level changes at once while the sweep plays
	SwappedSides     response.FindingKind = "swapped sides"     // left where right is stated
	MixedSides       response.FindingKind = "mixed sides"       // both sides' sweeps in one cup
	OppositePolarity response.FindingKind = "opposite polarity" // one channel inverted, or all of a direct recording
	SameRecording    response.FindingKind = "same recording"    // one recording given as two
	CopiedChannel    response.FindingKind = "copied channel"    // one channel copied to another
	CutTail                               = placement.CutTail   // stopped before the sound had died away
	NoSweep          response.FindingKind = "no sweep"          // not the stated sweep
	Resampled        response.FindingKind = "resampled"         // made at a lower sample rate, or badly converted
	LossyCodec       response.FindingKind = "lossy codec"       // without the treble, as from coders that save bits
	LengthUnstated   response.FindingKind = "length unstated"   // the file does not say where it ends
	Disturbance      response.FindingKind = "disturbance"       // another sound while the sweep plays
	SoftClipping     response.FindingKind = "soft clipping"     // tops that are compressed
	LevelControl     response.FindingKind = "level control"     // a gain that follows the level
	Fade             response.FindingKind = "fade"              // an editor fades it in or out
	Echo             response.FindingKind = "echo"              // the sound comes again
	Wow              response.FindingKind = "wow"               // its speed wavers
)

// ErrUnfit is the error of Report.Err for a recording that is not fit to use.
var ErrUnfit = errors.New("not fit to use")

// Report is the result of inspecting a recording.
type Report struct {
	// Findings, the worst first.
	Findings []response.Finding
	// Channels holds the measurements of each channel.
	Channels []Measured
}

// Err returns nil for a recording that is fit, and otherwise an error that wraps ErrUnfit and says
// why, with a line for each finding.
func (r *Report) Err() error {
	var lines []string
	for _, f := range r.Findings {
		if f.Severity >= response.Unfit {
			lines = append(lines, "capture: "+f.String())
		}
	}
	if lines == nil {
		return nil
	}
	return fmt.Errorf("%w:\n%s", ErrUnfit, strings.Join(lines, "\n"))
}

// Measured holds the measurements of a channel.
type Measured struct {
	Recording string // its name
	Channel   int    // counted from 1
	// Peak is in dBFS peak and Level in dBFS rms; −Inf for silence.
	Peak, Level float64
	// Noise is in dBFS rms, with hum, from the silences of the stimulus or the longest quiet
	// stretch; NaN if there is none.
	Noise float64
	// Offset is the DC offset, with full scale 1.
	Offset float64
	// Start is the time in seconds at which the stimulus begins; NaN if it was not found.
	Start float64
	// Side is the side that the channel holds; 0 if it is not known.
	Side sweep.Side
	// Valid is the band around 1 kHz in which noise moves the response of one sweep by less than
	// 0.1 dB; empty if it is not known.
	Valid response.Band
}

// figures are the numbers behind a finding by name.
type figures = map[string]response.Figure

// figure returns a number behind a finding. An empty unit means a plain number.
func figure(value float64, unit string) response.Figure {
	if unit == "" {
		unit = "1"
	}
	return response.Figure{Value: value, Unit: unit, Uncertainty: math.NaN()}
}

// nowhere marks a finding that has no position in time.
var nowhere = math.NaN()

// worstError is the largest error in dB of a response from a fit recording, and noticeableError the
// least one that is worth a warning.
const (
	worstError      = 0.1
	noticeableError = 0.03
)

// unfitIf returns Unfit or Warning.
func unfitIf(b bool) response.Severity {
	if b {
		return response.Unfit
	}
	return response.Warning
}

// grade returns Note below warning, and Unfit from unfit on.
func grade(v, warning, unfit float64) response.Severity {
	switch {
	case v >= unfit:
		return response.Unfit
	case v >= warning:
		return response.Warning
	}
	return response.Note
}

// seconds formats a time: "2.13 s".
func seconds(t float64) string { return fmt.Sprintf("%.2f s", t) }

// count formats a number with its thousands separated: "1 412".
func count(n int) string {
	s := strconv.Itoa(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + " " + s[i:]
	}
	return s
}

// signed formats a number with a number of decimals and a minus sign: "−63.2".
func signed(v float64, decimals int) string {
	return strings.Replace(strconv.FormatFloat(v, 'f', decimals, 64), "-", "−", 1)
}

// dBFS returns the level of an amplitude, with full scale 1; −Inf for silence.
func dBFS(amplitude float64) float64 {
	if amplitude == 0 {
		return math.Inf(-1)
	}
	return decibel.OfAmplitude(amplitude)
}
