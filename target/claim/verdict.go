package claim

import (
	"fmt"
	"math"

	"example.com/earnest/response"
	"example.com/earnest/target"
)

// Claim is a line of a data sheet.
type Claim interface {
	// String says the claim as a sheet would.
	String() string
	// check says what makes the claim none.
	check() error
	judge(e Evidence) (Verdict, error)
}

// confidence below which nothing is decided.
const confidence = 0.95

// Outcome of a claim.
type Outcome string

// The outcomes.
const (
	CannotTell Outcome = "cannot tell here"
	Met        Outcome = "met"
	NotMet     Outcome = "not met"
)

// Cause says in one of a few ways what an outcome rests on.
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

// Verdict is what was found about a claim.
type Verdict struct {
	// Claim in words.
	Claim   string
	Outcome Outcome
	Cause   Cause
	// Measured is the figure that decided, with its uncertainty; not known where
	// nothing was measured that has to do with the claim.
	Measured response.Figure
	// Frequency in Hz at which it was measured; NaN when it belongs to none.
	Frequency float64
	// Reason is a sentence. A figure in it comes with its 95 % interval, and says so.
	Reason string
	// Warnings belong beside the verdict wherever it is shown.
	Warnings []string
}

// Judge holds a claim against what was measured. An error says that the claim
// itself, or a curve of the evidence, cannot be: what is missing from either gives
// a verdict.
func Judge(c Claim, e Evidence) (Verdict, error) {
	if err := c.check(); err != nil {
		return Verdict{}, fmt.Errorf("claim: %T: %w", c, err)
	}
	v, err := c.judge(e)
	if err != nil {
		return Verdict{}, fmt.Errorf("claim: %v: %w", c, err)
	}
	v.Claim = c.String()
	return v, nil
}

// told is a verdict about what was measured.
func told(o Outcome, cause Cause, m FigureAt, reason string, args ...any) Verdict {
	return Verdict{Outcome: o, Cause: cause, Measured: m.Figure, Frequency: m.Frequency,
		Reason: fmt.Sprintf(reason, args...)}
}

// undecided is a verdict of CannotTell that shows what was measured all the same.
func undecided(cause Cause, m FigureAt, reason string, args ...any) Verdict {
	return told(CannotTell, cause, m, reason, args...)
}

// decided is the verdict on a figure between two limits. What names the figure, with %s for its
// frequency, and limit the limits.
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
		return undecided(NotSure, m, "%s, but how sure that is, is not known", is)
	}
	return undecided(TooNearTheLimit, m, "%s, too near %s for this measurement to tell", is, limit)
}

// at says a frequency that a claim states; nothing for 0.
func at(f float64) string {
	if f == 0 {
		return ""
	}
	return " at " + response.FormatFrequency(f)
}

// plusMinus says a tolerance that a claim states; nothing for 0.
func plusMinus(tolerance float64, unit string) string {
	if tolerance == 0 {
		return ""
	}
	return fmt.Sprintf(" ± %g %s", tolerance, unit)
}

// checkFrequency refuses what is no frequency; 0 stands for none.
func checkFrequency(f float64) error {
	if !(f >= 0) || math.IsInf(f, 0) {
		return fmt.Errorf("a frequency of %v Hz; frequencies are above zero", f)
	}
	return nil
}

// checkBand refuses what is no band.
func checkBand(what string, b response.Band) error {
	if b.Empty() || !(b.Low > 0) || math.IsInf(b.High, 0) {
		return fmt.Errorf("a %s of %v Hz to %v Hz; give its low end first, above zero", what, b.Low, b.High)
	}
	return nil
}

// checkLevel refuses what is no sound pressure level; 0 stands for none.
func checkLevel(level float64) error {
	if !(level >= 0 && level < 200) {
		return fmt.Errorf("a level of %v dB SPL; levels of headphones lie between 0 and 200", level)
	}
	return nil
}
