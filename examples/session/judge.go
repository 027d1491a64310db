package session

import (
	"errors"
	"fmt"

	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/claim"
	"example.com/earnest/target/correction"
)

// Judgement is a measurement weighed against a target, against what the maker
// claims, against what people do with headphones, and against rivals.
type Judgement struct {
	Target target.Target
	// Mean is the deviation of the mean response; Sides that of each side.
	Mean  target.Deviation
	Sides map[string]target.Deviation
	// Uses has a verdict for each use.
	Uses []target.Verdict
	// Claims has a verdict for each claim, in the session's order.
	Claims []claim.Verdict
	// Correction is what a few gentle filters could do; nil where the response
	// is known too little to say.
	Correction *correction.Correction
	// Ranking of the pair and its rivals; nil when there is none.
	Ranking *target.Ranking
}

// Judge weighs a measurement as its session asks.
func (m *Measurement) Judge(progress func(step string)) (*Judgement, error) {
	if progress == nil {
		progress = func(string) {}
	}
	s := m.Session
	t, err := s.loadTarget(progress)
	if err != nil {
		return nil, err
	}
	options, err := m.options()
	if err != nil {
		return nil, err
	}
	mean, match, err := m.seatings()
	if err != nil {
		return nil, err
	}
	j := &Judgement{Target: t, Sides: map[string]target.Deviation{}}
	if j.Mean, err = target.CompareSeatings(mean, t, options); err != nil {
		return nil, err
	}
	for _, side := range m.Sides() {
		if j.Sides[side.Name], err = target.CompareSeatings(side.curves(), t, options); err != nil {
			return nil, err
		}
	}
	if err := j.use(target.Evidence{Seatings: mean, Match: match, THD: m.distortions(0)}, options); err != nil {
		return nil, err
	}
	if err := j.claim(m, options); err != nil {
		return nil, err
	}
	progress("fitting corrective filters")
	if j.Correction, err = correct(mean, t, options); err != nil {
		return nil, err
	}
	return j, j.rank(m, mean, options, progress)
}

// correct fits filters; where the response and the target share too little there
// is nothing to correct.
func correct(mean []response.Curve, t target.Target, o target.Options) (*correction.Correction, error) {
	c, err := correction.Fit(mean, t, o, correction.Limits{})
	if errors.Is(err, target.ErrNoOverlap) {
		return nil, nil
	}
	return &c, err
}

// options are how the session asks to judge.
func (m *Measurement) options() (target.Options, error) {
	s := m.Session
	o := target.Options{
		Band:          response.Band{Low: or(s.Target.Low, 20), High: or(s.Target.High, 20000)},
		AllowOtherRig: s.Target.OtherRig,
	}
	if s.Target.Tolerance > 0 {
		o.Tolerance = target.PlusMinus(s.Target.Tolerance)
	}
	if s.Rig.Uncertainty > 0 {
		c := m.Mean.Offset(0)
		c.Uncertainty = make([]float64, len(c.Level))
		c = c.WithCommonUncertainty(s.Rig.Uncertainty)
		var err error
		// Errors of microphone and place keep together over about an octave.
		if o.Calibration, err = target.Correlated("microphone and positioning", c, 1); err != nil {
			return o, err
		}
	}
	return o, nil
}

func (j *Judgement) use(e target.Evidence, options target.Options) error {
	for _, u := range target.Uses() {
		v, err := u.Judge(e, j.Target, options)
		if err != nil {
			return err
		}
		j.Uses = append(j.Uses, v)
	}
	return nil
}

func (j *Judgement) claim(m *Measurement, options target.Options) error {
	e, err := m.evidence(options.Calibration)
	if err != nil {
		return err
	}
	for _, c := range m.Session.Claims {
		v, err := claim.Judge(c.claim(), e, claim.Options{})
		if err != nil {
			return err
		}
		j.Claims = append(j.Claims, v)
	}
	return nil
}

// rank measures the rivals and ranks all.
func (j *Judgement) rank(m *Measurement, mean []response.Curve, options target.Options, progress func(string)) error {
	if len(m.Session.Rivals) == 0 {
		return nil
	}
	pairs := []target.Session{{Name: m.Session.Headphones.Name, Seatings: mean}}
	for _, entry := range m.Session.Rivals {
		other, err := m.Session.measureOther(entry.Session, progress)
		if err != nil {
			return fmt.Errorf("rival %s: %w", entry.Session, err)
		}
		seatings, _, err := other.seatings()
		if err != nil {
			return fmt.Errorf("rival %s: %w", entry.Session, err)
		}
		pairs = append(pairs, target.Session{Name: other.Session.Headphones.Name, Seatings: seatings})
	}
	ranking, err := target.Rank(pairs, j.Target, options)
	if err != nil {
		return err
	}
	j.Ranking = &ranking
	return nil
}

// measureOther measures the response of another session, named relative to this
// one.
func (s *Session) measureOther(path string, progress func(string)) (*Measurement, error) {
	other, err := Read(s.path(path))
	if err != nil {
		return nil, err
	}
	progress("measuring " + other.Headphones.Name)
	return other.MeasureResponse(nil)
}

func (s *Session) loadTarget(progress func(string)) (target.Target, error) {
	switch {
	case s.Target.File != "":
		return target.ReadFile(s.path(s.Target.File))
	case s.Target.Pair != "":
		other, err := s.measureOther(s.Target.Pair, progress)
		if err != nil {
			return target.Target{}, fmt.Errorf("target pair %s: %w", s.Target.Pair, err)
		}
		seatings, _, err := other.seatings()
		if err != nil {
			return target.Target{}, err
		}
		return target.FromSeatings(other.Session.Headphones.Name, seatings)
	}
	return target.Flat(), nil
}
