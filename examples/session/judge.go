package session

import (
	"fmt"
	"slices"

	"example.com/earnest/response"
	"example.com/earnest/target"
)

// Judgement is a measurement weighed against a target and against rivals.
type Judgement struct {
	Target target.Target
	// Mean is the deviation of the mean response; Sides that of each side.
	Mean  target.Deviation
	Sides map[string]target.Deviation
	// Rivals, and the pair itself, by rms deviation from the same target, the
	// least first.
	Rivals []Rival
}

// Rival is a pair in a ranking.
type Rival struct {
	Name      string
	Itself    bool // the pair that the session is about
	Response  response.Curve
	Deviation target.Deviation
}

// Judge weighs a measurement as its session asks.
func (m *Measurement) Judge(progress func(step string)) (*Judgement, error) {
	s := m.Session
	t, err := s.loadTarget(progress)
	if err != nil {
		return nil, err
	}
	options := target.Options{
		Band:          response.Band{Low: or(s.Target.Low, 20), High: or(s.Target.High, 20000)},
		AllowOtherRig: s.Target.OtherRig,
	}
	if s.Target.Tolerance > 0 {
		options.Tolerance = target.PlusMinus(s.Target.Tolerance)
	}
	j := &Judgement{Target: t, Sides: map[string]target.Deviation{}}
	if j.Mean, err = target.Compare(m.Mean, t, options); err != nil {
		return nil, err
	}
	for _, side := range m.Sides() {
		if j.Sides[side.Name], err = target.Compare(side.Response(), t, options); err != nil {
			return nil, err
		}
	}
	return j, j.rank(m, options, progress)
}

// rank measures the rivals and orders them.
func (j *Judgement) rank(m *Measurement, options target.Options, progress func(string)) error {
	if len(m.Session.Rivals) == 0 {
		return nil
	}
	j.Rivals = []Rival{{Name: m.Session.Headphones.Name, Itself: true, Response: m.Mean, Deviation: j.Mean}}
	for _, entry := range m.Session.Rivals {
		other, err := m.Session.measureOther(entry.Session, progress)
		if err != nil {
			return fmt.Errorf("rival %s: %w", entry.Session, err)
		}
		deviation, err := target.Compare(other.Mean, j.Target, options)
		if err != nil {
			return fmt.Errorf("rival %s: %w", entry.Session, err)
		}
		j.Rivals = append(j.Rivals, Rival{Name: other.Session.Headphones.Name, Response: other.Mean, Deviation: deviation})
	}
	slices.SortStableFunc(j.Rivals, func(a, b Rival) int {
		switch {
		case a.Deviation.RMS.Value < b.Deviation.RMS.Value:
			return -1
		case a.Deviation.RMS.Value > b.Deviation.RMS.Value:
			return 1
		}
		return 0
	})
	return nil
}

// measureOther measures another session, named relative to this one.
func (s *Session) measureOther(path string, progress func(string)) (*Measurement, error) {
	other, err := Read(s.path(path))
	if err != nil {
		return nil, err
	}
	return other.Measure(progress)
}

func (s *Session) loadTarget(progress func(string)) (target.Target, error) {
	switch {
	case s.Target.File != "":
		t, err := target.ReadFile(s.path(s.Target.File))
		if err == nil && t.Curve.Rig == "" && !t.AnyRig {
			err = fmt.Errorf(`target %s does not say which rig it belongs to; add a line "# rig: …" to it`, s.Target.File)
		}
		return t, err
	case s.Target.Pair != "":
		other, err := s.measureOther(s.Target.Pair, progress)
		if err != nil {
			return target.Target{}, fmt.Errorf("target pair %s: %w", s.Target.Pair, err)
		}
		return target.FromPair(other.Session.Headphones.Name, other.Mean)
	}
	return target.Flat(), nil
}
