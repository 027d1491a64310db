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
	// Match is left less right over MatchBand, as a deviation from none; nil
	// where there is one side only, or nothing of both is known there.
	Match *target.Deviation
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
	pair := func(path string) (target.Session, error) { return s.measurePair(path, progress) }
	t, err := s.target(pair)
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
	if j.Match, err = compareSides(match); err != nil {
		return nil, err
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
	return j, j.rank(s, mean, options, pair)
}

// MatchBand is where the two sides are compared as one figure: below it the fit on
// the rig decides, above it a millimetre does.
var MatchBand = response.Band{Low: 100, High: 8000}

// compareSides judges left less right, once for each seating.
func compareSides(match []response.Curve) (*target.Deviation, error) {
	if len(match) == 0 {
		return nil, nil
	}
	d, err := target.CompareSides(match, MatchBand, target.Options{})
	if errors.Is(err, target.ErrNoOverlap) {
		return nil, nil
	}
	return &d, err
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
func (s *Session) options() target.Options {
	o := target.Options{
		Band:          response.Band{Low: or(s.Target.Low, 20), High: or(s.Target.High, 20000)},
		AllowOtherRig: s.Target.OtherRig,
	}
	if s.Target.Tolerance > 0 {
		o.Tolerance = target.PlusMinus(s.Target.Tolerance)
	}
	return o
}

// options are those of the session, with what it says of microphone and positioning.
func (m *Measurement) options() (target.Options, error) {
	s := m.Session
	o := s.options()
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

// rank ranks the pair and its rivals.
func (j *Judgement) rank(s *Session, mean []response.Curve, options target.Options, pair func(path string) (target.Session, error)) error {
	if len(s.Rivals) == 0 {
		return nil
	}
	pairs, err := s.pairs(mean, pair)
	if err != nil {
		return err
	}
	ranking, err := target.Rank(pairs, j.Target, options)
	if err != nil {
		return err
	}
	j.Ranking = &ranking
	return nil
}

// pairs are the session's own, as it was measured, and its rivals.
func (s *Session) pairs(own []response.Curve, pair func(path string) (target.Session, error)) ([]target.Session, error) {
	pairs := []target.Session{{Name: s.Headphones.Name, Seatings: own}}
	for _, rival := range s.Rivals {
		p, err := pair(rival.Session)
		if err != nil {
			return nil, fmt.Errorf("rival %s: %w", rival.Session, err)
		}
		pairs = append(pairs, p)
	}
	return pairs, nil
}

// measurePair measures the pair of another session, named relative to this one.
func (s *Session) measurePair(path string, progress func(string)) (target.Session, error) {
	other, err := Read(s.path(path))
	if err != nil {
		return target.Session{}, err
	}
	progress("measuring " + other.Headphones.Name)
	m, err := other.MeasureResponse(nil)
	if err != nil {
		return target.Session{}, err
	}
	seatings, err := m.Seatings()
	return target.Session{Name: other.Headphones.Name, Seatings: seatings}, err
}

// target is what the session judges against; pair measures another session's.
func (s *Session) target(pair func(path string) (target.Session, error)) (target.Target, error) {
	switch {
	case s.Target.File != "":
		t, err := target.ReadFile(s.path(s.Target.File))
		if err != nil {
			return t, s.targetError(err)
		}
		return t, nil
	case s.Target.Pair != "":
		p, err := pair(s.Target.Pair)
		if err != nil {
			return target.Target{}, s.targetError(err)
		}
		if len(p.Seatings) == 1 {
			return target.FromPair(p.Name, p.Seatings[0])
		}
		return target.FromSeatings(p.Name, p.Seatings)
	}
	return target.Flat(), nil
}

// targetError says that the target of the session is at fault.
func (s *Session) targetError(err error) error {
	what := "[target] file " + s.Target.File
	if s.Target.Pair != "" {
		what = "[target] pair " + s.Target.Pair
	}
	if errors.Is(err, response.ErrOtherRig) {
		return fmt.Errorf("%s: %w: other_rig = true in [target] allows it", what, err)
	}
	return fmt.Errorf("%s: %w", what, err)
}
