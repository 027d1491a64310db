package tone

import (
	"fmt"
	"math"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/fft"
	"example.com/earnest/response"
)

// SteppedResult is distortion against the frequency of the fundamental, as
// distortion.Harmonics gives it from a sweep.
type SteppedResult struct {
	// Delay in seconds from the first sample of the recording to the beginning
	// of the stimulus in it.
	Delay float64
	// Steps in the order in which they were played.
	Steps []StepResult
}

// StepResult is what one step says.
type StepResult struct {
	Step
	Result
	// Err says why nothing is known of this step; Result is then empty.
	Err error
}

// Analyse finds the stimulus in a recording of it and measures each of its tones. The recording may
// begin at any time before the stimulus and end at any time after it; the recorder's clock may differ
// from the player's by as much as the settling time has room for. Config.Frequency is not used.
//
// A tone that cannot be measured has its own error; Analyse returns one when the recording is shorter
// than the stimulus or when no tone was found.
func (s *Stepped) Analyse(recording []float64, c Config) (*SteppedResult, error) {
	fs := float64(s.c.SampleRate)
	if len(recording) < s.length {
		return nil, tooShort(float64(len(recording))/fs, float64(s.length)/fs, "the stimulus, from its first silence to its last")
	}
	c.Frequency = 0
	shared, err := newAnalyser(s.c.SampleRate, c)
	if err != nil {
		return nil, err
	}
	if err := shared.check(recording); err != nil {
		return nil, err
	}
	at := locate(recording, s.Samples())
	r := &SteppedResult{Delay: float64(at) / fs}
	found := false
	for _, step := range s.steps {
		one := StepResult{Step: step}
		one.Result, one.Err = shared.step(recording, at, step)
		found = found || one.Err == nil
		r.Steps = append(r.Steps, one)
	}
	if !found {
		return nil, fmt.Errorf("tone: none of the %d steps could be measured; the first: %w", len(s.steps), r.Steps[0].Err)
	}
	return r, nil
}

func (a *analyser) step(recording []float64, at int, step Step) (Result, error) {
	from, to := at+step.Start, at+step.Start+step.Len
	if from < 0 || to > len(recording) {
		fs := float64(a.sampleRate)
		return Result{}, tooShort(float64(len(recording))/fs, float64(max(to, to-from))/fs,
			"the step at "+response.FormatFrequency(step.Frequency)+", whole")
	}
	return a.analyse(recording[from:to], step.Frequency)
}

// locate returns the sample of a recording at which a stimulus begins, by the peak of their
// cross-correlation, of either polarity. It is negative if the recording lacks some of the leading
// silence.
func locate(recording, stimulus []float64) int {
	plan := fft.NewPlan(fft.FastLen(len(recording) + len(stimulus)))
	r, s := plan.Forward(nil, centred(recording)), plan.Forward(nil, stimulus)
	for k, v := range s {
		r[k] *= complex(real(v), -imag(v))
	}
	correlation := plan.Inverse(nil, r)
	best := 0
	for i, v := range correlation {
		if math.Abs(v) > math.Abs(correlation[best]) {
			best = i
		}
	}
	if best >= len(recording) {
		best -= plan.Len()
	}
	return best
}

// Harmonic returns the readings of a harmonic against the frequency of the fundamental, as a sweep
// gives them; NaN where it is not known or was not asked for.
func (r *SteppedResult) Harmonic(order int) distortion.Readings {
	var out distortion.Readings
	for _, s := range r.Steps {
		h := nothing("dB")
		if order >= 2 && order-2 < len(s.Harmonics) {
			h = s.Harmonics[order-2].Reading
		}
		out.Append(s.Step.Frequency, h)
	}
	return out
}

// Curve returns a figure of each step against its frequency, NaN for a step with an error. The
// reference says what the figure is relative to.
func (r *SteppedResult) Curve(reference string, of func(Result) response.Figure) response.Curve {
	c := response.Curve{Reference: reference}
	for _, s := range r.Steps {
		v := response.NotKnown("")
		if s.Err == nil {
			v = of(s.Result)
		}
		c.Frequency = append(c.Frequency, s.Step.Frequency)
		c.Level = append(c.Level, v.Value)
		c.Uncertainty = append(c.Uncertainty, v.Uncertainty)
		if !v.Known() {
			continue
		}
		if c.Valid.Low == 0 {
			c.Valid.Low = s.Step.Frequency
		}
		c.Valid.High = s.Step.Frequency
	}
	return c
}
