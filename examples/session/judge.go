package session

import (
	"cmp"
	"errors"
	"fmt"

	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/review"
)

// criteria returns the session's criteria. pair returns another session's pair, and rivalPair that
// of a rival. A rival without seatings is left out.
func (s *Session) criteria(pair, rivalPair func(path string) (target.Pair, error)) (review.Criteria, error) {
	c := review.Criteria{Config: target.Config{
		Band:          response.Band{Low: cmp.Or(s.Target.Low, 20), High: cmp.Or(s.Target.High, 20000)},
		AllowOtherRig: s.Target.OtherRig,
	}}
	if s.Target.Tolerance > 0 {
		c.Tolerance = target.PlusMinus(s.Target.Tolerance)
	}
	var err error
	if c.Target, err = s.target(pair); err != nil {
		return c, err
	}
	for _, one := range s.Claims {
		c.Claims = append(c.Claims, one.claim())
	}
	for _, rival := range s.Rivals {
		p, err := rivalPair(rival.Session)
		if err != nil {
			return c, fmt.Errorf("rival %s: %w", rival.Session, err)
		}
		if len(p.Seatings) > 0 {
			c.Rivals = append(c.Rivals, p)
			if rival.Chosen {
				c.Chosen = len(c.Rivals)
			}
		}
	}
	return c, nil
}

// measurePair measures the pair of another session, named relative to this one. The notes name what
// was left out of it. Of two sessions with the same direct recording, the one measured later takes
// over what was measured of it.
func (s *Session) measurePair(path string, progress func(string), notes *[]string) (target.Pair, error) {
	other, err := Read(s.path(path))
	if err != nil {
		return target.Pair{}, err
	}
	progress("measuring " + other.Headphones.Name)
	other.Like(s)
	measured, unfit, err := other.Pair()
	for _, f := range unfit {
		*notes = append(*notes, fmt.Sprintf("%s: %s.", path, f))
	}
	s.Like(other)
	return measured, err
}

// target returns the session's target; nil for a flat response.
func (s *Session) target(pair func(path string) (target.Pair, error)) (*target.Target, error) {
	var t target.Target
	var err error
	switch {
	case s.Target.File != "":
		t, err = target.ReadFile(s.path(s.Target.File))
	case s.Target.Pair != "":
		var p target.Pair
		if p, err = pair(s.Target.Pair); err != nil {
			break
		}
		t, err = target.FromPair(p.Name, p.Seatings...)
	default:
		return nil, nil
	}
	if err != nil {
		return nil, s.targetError(err)
	}
	return &t, nil
}

// targetError names the session's target as the cause of an error.
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
