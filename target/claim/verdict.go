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
	judge(e Evidence, o Config) (Verdict, error)
}

// Config say how claims are judged.
type Config struct {
	// Confidence below which nothing is decided; 0.95 if zero.
	Confidence float64
}

// Outcome of a claim.
type Outcome int

// The outcomes.
const (
	CannotTell Outcome = iota
	Met
	NotMet
)

// String is "met", "not met" or "cannot tell here".
func (o Outcome) String() string {
	switch o {
	case Met:
		return "met"
	case NotMet:
		return "not met"
	}
	return "cannot tell here"
}

// Cause says in one of a few ways what an outcome rests on.
type Cause int

// The causes. Measured goes with Met and NotMet, the others with CannotTell.
const (
	Measured           Cause = iota
	TooNearTheLimit          // within the guard band
	NotSure                  // the figure's uncertainty is not known
	NoLimitStated            // the claim does not say by how much
	NoReferenceStated        // the claim does not say relative to what
	NoLevelStated            // the claim does not say at which level
	NoFrequencyStated        // the claim does not say at which frequency
	MicrophoneEnds           // beyond where the microphone is known
	SampleRateEnds           // beyond half the sample rate
	ResponseEnds             // where the response is not known for another reason
	BelowNoise               // below what this measurement can resolve
	NotMeasured              // nobody measured it
	NotAtThatLevel           // measured, but at another level
	NotAtThatFrequency       // measured, but at another frequency
)

var causes = map[Cause]string{
	Measured: "measured", TooNearTheLimit: "too near the limit", NotSure: "uncertainty not known",
	NoLimitStated: "no limit stated", NoReferenceStated: "no reference stated", NoLevelStated: "no level stated",
	NoFrequencyStated: "no frequency stated", MicrophoneEnds: "beyond the microphone", SampleRateEnds: "beyond the sample rate",
	ResponseEnds: "beyond the measurement", BelowNoise: "below the noise", NotMeasured: "not measured",
	NotAtThatLevel: "not measured at that level", NotAtThatFrequency: "not measured at that frequency",
}

// String names the cause in a word or two.
func (c Cause) String() string { return causes[c] }

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
	// Reason is a sentence. A figure in it comes with its interval of
	// Config.Confidence, and says so.
	Reason string
	// Warnings belong beside the verdict wherever it is shown.
	Warnings []string
}

// Judge holds a claim against what was measured. An error says that the claim
// itself, or a curve of the evidence, cannot be: what is missing from either gives
// a verdict.
func Judge(c Claim, e Evidence, o Config) (Verdict, error) {
	if o.Confidence == 0 {
		o.Confidence = 0.95
	}
	if !(o.Confidence > 0 && o.Confidence < 1) {
		return Verdict{}, fmt.Errorf("claim: a confidence of %v; it lies between 0 and 1, such as 0.95", o.Confidence)
	}
	if err := c.check(); err != nil {
		return Verdict{}, fmt.Errorf("claim: %T: %w", c, err)
	}
	v, err := c.judge(e, o)
	if err != nil {
		return Verdict{}, fmt.Errorf("claim: %v: %w", c, err)
	}
	v.Claim = c.String()
	return v, nil
}

// undecided is a verdict of CannotTell about no figure.
func undecided(cause Cause, unit, reason string, args ...any) Verdict {
	return Verdict{Cause: cause, Measured: response.NotKnown(unit), Frequency: math.NaN(), Reason: fmt.Sprintf(reason, args...)}
}

// decided is the verdict on a figure between two limits, of which the reason
// calls the figure and the limit by name.
func decided(f response.Figure, at, low, high, confidence float64, what, limit string) Verdict {
	v := Verdict{Measured: f, Frequency: at}
	v.settle(target.Decide(f, low, high, confidence), confidence, what, limit)
	return v
}

// settle writes outcome, cause and reason from an answer.
func (v *Verdict) settle(a target.Answer, confidence float64, what, limit string) {
	value := v.Measured.WithInterval(confidence)
	switch {
	case a == target.Yes:
		v.Outcome, v.Reason = Met, fmt.Sprintf("%s is %s, within %s", what, value, limit)
	case a == target.No:
		v.Outcome, v.Reason = NotMet, fmt.Sprintf("%s is %s, outside %s", what, value, limit)
	case math.IsNaN(v.Measured.Uncertainty):
		v.Cause, v.Reason = NotSure, fmt.Sprintf("%s is %s, but how sure that is, is not known", what, value)
	default:
		v.Cause, v.Reason = TooNearTheLimit, fmt.Sprintf("%s is %s, too near %s for this measurement to tell", what, value, limit)
	}
}
