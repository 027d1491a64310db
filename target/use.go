package target

import (
	"errors"
	"fmt"
	"math"

	"example.com/earnest/response"
)

// Use is a purpose of headphones, with the requirements that matter for it.
type Use struct {
	Name string
	// Band is judged and aligned as one, by Weight.
	Band   response.Band
	Weight func(f float64) float64
	Needs  []Need
}

// Judge reports whether a pair suits a use, judged against a target. [Decide] decides each need
// with Config.Confidence. The use's own band, weight, alignment and regions replace those of the
// configuration.
func (u Use) Judge(e Evidence, t Target, o Config) (Verdict, error) {
	v, err := u.judge(e, t, o.withDefaults(t))
	if err != nil {
		return Verdict{}, fmt.Errorf("target: for %s: %w", u.Name, err)
	}
	return v, nil
}

func (u Use) judge(e Evidence, t Target, o Config) (Verdict, error) {
	if err := u.check(); err != nil {
		return Verdict{}, err
	}
	o.Band, o.Weight, o.Align, o.Regions = u.Band, u.Weight, Alignment{}, []Region{}
	for _, n := range u.Needs {
		if n.What == RegionLevel {
			o.Regions = append(o.Regions, Region{Name: "need", Band: n.Over})
		}
	}
	d, err := compare(e.Seatings, t, o.withDefaults(t))
	if errors.Is(err, ErrNoOverlap) { // nothing of the response is known there; it may be known for other needs
		d, err = Deviation{Band: u.Band, Regions: make([]RegionDeviation, len(o.Regions))}, nil
	}
	if err != nil {
		return Verdict{}, err
	}
	v := Verdict{Use: u.Name, Answer: Yes, Warnings: d.Warnings}
	regions := d.Regions
	for _, n := range u.Needs {
		var answer NeedVerdict
		switch n.What {
		case SidesApart:
			answer, err = n.judgeMatch(e, o)
		case HarmonicShare:
			answer = n.judgeTHD(e, o.Confidence)
		case RegionLevel:
			answer = n.decide(regions[0].Mean, regions[0].Coverage, d, o.Confidence)
			regions = regions[1:]
		default:
			answer = n.decide(n.pick(d), d.Coverage, d, o.Confidence)
		}
		if err != nil {
			return Verdict{}, err
		}
		v.Needs = append(v.Needs, answer)
		switch {
		case answer.Answer == No:
			v.Answer = No
		case answer.Answer == CannotTell && v.Answer == Yes:
			v.Answer = CannotTell
		}
	}
	for _, n := range v.Needs {
		if n.Answer == v.Answer {
			v.Reasons = append(v.Reasons, n.Reason)
		}
	}
	return v, nil
}

func (u Use) check() error {
	if len(u.Needs) == 0 {
		return errors.New("nothing is asked for; give it needs")
	}
	for i, n := range u.Needs {
		switch {
		case n.What < RMSDeviation || n.What > HarmonicShare:
			return fmt.Errorf("need %d: there is no quantity %d", i+1, n.What)
		case !(n.Limit >= 0):
			return fmt.Errorf("need %d: a limit of %v; limits are zero or more", i+1, n.Limit)
		case n.What >= RegionLevel && (n.Over.Empty() || !(n.Over.Low > 0)):
			return fmt.Errorf("need %d: its band, %v Hz to %v Hz, holds nothing; give its low end first, above zero",
				i+1, n.Over.Low, n.Over.High)
		}
	}
	return nil
}

// Quantity is a quantity that a need limits.
type Quantity int

// The quantities.
const (
	RMSDeviation     Quantity = iota // rms deviation from the target over Band, dB
	TiltSize                         // magnitude of the tilt of the deviation, dB/octave
	RippleAbout                      // rms of the deviation after the tilt is subtracted, dB
	MaxDeviationSize                 // magnitude of the largest deviation, dB
	RegionLevel                      // magnitude of the mean deviation over the need's own band, dB
	SidesApart                       // magnitude of the mean of left less right over the need's own band, dB
	HarmonicShare                    // largest total harmonic distortion with a fundamental in the need's own band, %
)

// Need is one requirement of a use.
type Need struct {
	What Quantity
	// Over is the need's own band, for a Quantity that has one.
	Over response.Band
	// Limit is the largest value that is good enough.
	Limit float64
	// Why says what goes wrong beyond the limit.
	Why string
}

// pick returns the need's figure over its whole band.
func (n Need) pick(d Deviation) response.Figure {
	switch n.What {
	case RMSDeviation:
		return d.RMS
	case TiltSize:
		return d.Tilt
	case RippleAbout:
		return d.Ripple
	}
	return d.Max.Level
}

// name returns the name of the quantity, as the subject of a sentence.
func (n Need) name(at response.Band) string {
	switch n.What {
	case RMSDeviation:
		return fmt.Sprintf("the rms deviation over %v", at)
	case TiltSize:
		return fmt.Sprintf("the tilt over %v", at)
	case RippleAbout:
		return fmt.Sprintf("the ripple over %v", at)
	case MaxDeviationSize:
		return fmt.Sprintf("the largest deviation in %v", at)
	case RegionLevel:
		return fmt.Sprintf("the mean deviation over %v", n.Over)
	case SidesApart:
		return fmt.Sprintf("the mean channel balance (L−R) over %v", n.Over)
	}
	return fmt.Sprintf("the largest harmonic distortion in %v", n.Over)
}

// decide compares a figure of a response with the limit.
func (n Need) decide(f response.Figure, coverage float64, d Deviation, confidence float64) NeedVerdict {
	v := NeedVerdict{Need: n, Measured: f, Answer: Decide(f, -n.Limit, n.Limit, confidence)}
	subject := n.name(d.Band)
	const enough = 0.95 // of the band; a yes for all of it needs at least this share
	switch {
	case !f.Known():
		v.Reason = fmt.Sprintf("%s is not known: nothing was measured there", subject)
	case math.IsNaN(f.Uncertainty):
		v.Reason = fmt.Sprintf("%s is %s, but its uncertainty is %s", subject, signed(f, confidence), d.Uncertainty)
	case v.Answer == Yes && coverage < enough:
		v.Answer = CannotTell
		v.Reason = fmt.Sprintf("%s is %s where it is known, but only %.0f %% of the weight is known",
			subject, signed(f, confidence), 100*coverage)
	default:
		v.Reason = n.sentence(subject, signed(f, confidence), v.Answer, f.Unit)
	}
	return v
}

// sentence states the answer, and for No its consequence.
func (n Need) sentence(subject, value string, a Answer, unit string) string {
	limit := fmt.Sprintf("%.3g %s", n.Limit, unit)
	switch a {
	case Yes:
		return fmt.Sprintf("%s, %s, is within %s", subject, value, limit)
	case No:
		return fmt.Sprintf("%s, %s, is beyond %s: %s", subject, value, limit, n.Why)
	}
	return fmt.Sprintf("%s, %s, is too near the limit of %s for this measurement to tell", subject, value, limit)
}

func (n Need) judgeMatch(e Evidence, o Config) (NeedVerdict, error) {
	if len(e.Match) == 0 {
		f := figure(math.NaN(), "dB")
		return NeedVerdict{Need: n, Measured: f, Reason: n.name(n.Over) +
			" is not known: the two sides were not both measured"}, nil
	}
	d, err := CompareSides(e.Match, n.Over, o)
	if errors.Is(err, ErrNoOverlap) {
		return n.decide(figure(math.NaN(), "dB"), 0, Deviation{}, o.Confidence), nil
	}
	if err != nil {
		return NeedVerdict{}, fmt.Errorf("channel balance (L−R): %w", err)
	}
	return n.decide(d.Regions[0].Mean, d.Coverage, d, o.Confidence), nil
}

func (n Need) judgeTHD(e Evidence, confidence float64) NeedVerdict {
	v := NeedVerdict{Need: n, Measured: figure(math.NaN(), "%"), Answer: Yes}
	subject := n.name(n.Over)
	found := e.within(n.Over)
	if len(found) == 0 {
		v.Answer, v.Reason = CannotTell, subject+" is not known: it was not measured there"
		return v
	}
	for i, t := range found {
		a := DecideAtMost(t.Reading, n.Limit, confidence)
		if i > 0 && (a == Yes || a == v.Answer || v.Answer == No) {
			continue
		}
		v.Answer, v.Measured = a, t.Figure
		v.Reason = n.sentence(subject, t.String(), a, "%")
		switch {
		case a != CannotTell:
		case !t.Known() && !t.Below:
			v.Reason = fmt.Sprintf("%s, %v, is not known, for the floor of this measurement is not: "+
				"a silence has to be recorded", subject, t)
		case t.Below:
			v.Reason = fmt.Sprintf("%s, %v, lies below the noise of this measurement, which is not low enough to tell",
				subject, t)
		}
	}
	return v
}

// Verdict says whether a pair suits a use.
type Verdict struct {
	Use string // its name
	// Answer is No if any need is not met, Yes if all are met, and otherwise CannotTell.
	Answer Answer
	// Needs holds the answer to each need.
	Needs []NeedVerdict
	// Reasons are the sentences that decided: those of the needs that are not met; if there are
	// none, of those that cannot be decided; else of all.
	Reasons []string
	// Warnings are sentences to show beside the verdict wherever it is shown.
	Warnings []string
}

// NeedVerdict says whether a need is met.
type NeedVerdict struct {
	Need
	Answer Answer
	// Measured is the figure that was compared with the limit.
	Measured response.Figure
	// Reason is a sentence. A figure in it comes with its interval of
	// Config.Confidence, and says so.
	Reason string
}

// signed formats a figure with its interval. It writes a plus before a positive value of a quantity
// that could be negative.
func signed(f response.Figure, confidence float64) string {
	sign := ""
	if !f.Bounded() && f.Value > 0 {
		sign = "+"
	}
	return sign + f.WithInterval(confidence)
}
