package claim

import (
	"errors"
	"fmt"
	"math"

	"example.com/earnest/response"
	"example.com/earnest/target"
)

// Claim is a line of a data sheet.
type Claim interface {
	// String returns the claim in the words of a sheet.
	String() string
	// check returns an error for an impossible claim.
	check() error
	judge(e Evidence) (Verdict, error)
}

// confidence is that of every decision.
const confidence = 0.95

// Outcome is the outcome of a claim.
type Outcome string

// The outcomes.
const (
	CannotTell Outcome = "cannot tell here"
	Met        Outcome = "met"
	NotMet     Outcome = "not met"
)

// Cause names the reason for an outcome.
type Cause string

// The causes. Measured goes with Met and NotMet, the others with CannotTell.
const (
	Measured           Cause = "measured"
	TooNearTheLimit    Cause = "too near the limit"
	NotSure            Cause = "uncertainty not known" // of the figure
	NoLimitStated      Cause = "no limit stated"
	NoReferenceStated  Cause = "no reference stated"
	NoLevelStated      Cause = "no level stated"
	NoFrequencyStated  Cause = "no frequency stated"
	MicrophoneEnds     Cause = "beyond the microphone"
	SampleRateEnds     Cause = "beyond the sample rate"
	ResponseEnds       Cause = "beyond the measurement" // for another reason
	BelowNoise         Cause = "below the noise"
	NotMeasured        Cause = "not measured"
	NotAtThatLevel     Cause = "not measured at that level"
	NotAtThatFrequency Cause = "not measured at that frequency"
)

// Verdict is the result for a claim.
type Verdict struct {
	// Claim is the claim in words.
	Claim   string
	Outcome Outcome
	Cause   Cause
	// Measured is the figure that decided, with its uncertainty. It is not known if nothing
	// relevant to the claim was measured.
	Measured response.Figure
	// Frequency is the frequency in Hz of the figure, or NaN if it belongs to none.
	Frequency float64
	// Reason is a sentence. A figure in it comes with its 95 % interval, and says so.
	Reason string
	// Warnings are sentences to show beside the verdict wherever it is shown.
	Warnings []string
}

// Judge compares a claim with the measurements. It returns an error if the claim itself, or a curve
// of the evidence, is impossible. If something is missing from either, it returns a verdict.
func Judge(c Claim, e Evidence) (Verdict, error) {
	if c == nil {
		return Verdict{}, errors.New("claim: there is no claim; leave out what is nil")
	}
	if err := c.check(); err != nil {
		return Verdict{}, fmt.Errorf("claim: %T: %w", c, err)
	}
	v, err := c.judge(e)
	if err != nil {
		return Verdict{}, fmt.Errorf("claim: %v: %w", c, err)
	}
	v.Claim = c.String()
	if rig := e.rig(); rig != "" {
		switch c.(type) {
		case FrequencyRange, Sensitivity, MaximumLevel:
			v.Warnings = append(v.Warnings, fmt.Sprintf("measured on %q; the maker's rig may give another figure", rig))
		}
	}
	return v, nil
}

// rig is that of the response; empty where there is none, or it is not stated.
func (e Evidence) rig() string {
	if len(e.Seatings) == 0 {
		return ""
	}
	return e.Seatings[0].Rig
}

// told returns a verdict about a measured figure.
func told(o Outcome, cause Cause, m FigureAt, reason string, args ...any) Verdict {
	return Verdict{Outcome: o, Cause: cause, Measured: m.Figure, Frequency: m.Frequency,
		Reason: fmt.Sprintf(reason, args...)}
}

// undecided returns a verdict of CannotTell that shows the measured figure all the same.
func undecided(cause Cause, m FigureAt, reason string, args ...any) Verdict {
	return told(CannotTell, cause, m, reason, args...)
}

// decided returns the verdict on a figure between two limits. The argument what names the figure,
// with %s for its frequency, and limit the limits.
func decided(m FigureAt, low, high float64, what, limit string) Verdict {
	return settled(target.Decide(m.Figure, low, high, confidence), m, what, limit)
}

// settled turns an answer into outcome, cause and reason.
func settled(a target.Answer, m FigureAt, what, limit string) Verdict {
	is := fmt.Sprintf(what, response.FormatFrequency(m.Frequency)) + " is " + m.WithInterval(confidence)
	switch {
	case a == target.Yes:
		return told(Met, Measured, m, "%s, within %s", is, limit)
	case a == target.No:
		return told(NotMet, Measured, m, "%s, outside %s", is, limit)
	case math.IsNaN(m.Uncertainty):
		return undecided(NotSure, m, "%s, but its uncertainty is not known", is)
	}
	return undecided(TooNearTheLimit, m, "%s, too near %s for this measurement to tell", is, limit)
}

// at returns the words for a frequency that a claim states, or nothing for 0.
func at(f float64) string {
	if f == 0 {
		return ""
	}
	return " at " + response.FormatFrequency(f)
}

// plusMinus returns the words for a tolerance that a claim states, or nothing for 0.
func plusMinus(tolerance float64, unit string) string {
	if tolerance == 0 {
		return ""
	}
	return fmt.Sprintf(" ± %g %s", tolerance, unit)
}

// checkFrequency returns an error for an impossible frequency; 0 means not stated.
func checkFrequency(f float64) error {
	if !(f >= 0) || math.IsInf(f, 0) {
		return fmt.Errorf("a frequency of %v Hz; frequencies are above zero", f)
	}
	return nil
}

// checkBand returns an error for an impossible band.
func checkBand(what string, b response.Band) error {
	if b.Empty() || !(b.Low > 0) || math.IsInf(b.High, 0) {
		return fmt.Errorf("a %s of %v Hz to %v Hz; give its low end first, above zero", what, b.Low, b.High)
	}
	return nil
}

// checkLevel returns an error for an impossible sound pressure level; 0 means not stated.
func checkLevel(level float64) error {
	if !(level >= 0 && level < 200) {
		return fmt.Errorf("a level of %v dB SPL; levels of headphones lie between 0 and 200", level)
	}
	return nil
}
