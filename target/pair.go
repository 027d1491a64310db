package target

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.com/earnest/response"
)

// FromPair makes a target of another pair's response, measured on the same rig
// as what will be judged: the comparison that always holds. The curve must say
// its rig. Its uncertainty is kept, and stays not known where it is not known.
func FromPair(name string, c response.Curve) (Target, error) {
	if strings.TrimSpace(name) == "" {
		return Target{}, errors.New("target: a pair needs a name, for the report to call it by")
	}
	if err := check(c); err != nil {
		return Target{}, fmt.Errorf("target: pair %q: %w", name, err)
	}
	if c.Rig == "" {
		return Target{}, fmt.Errorf("target: pair %q: the curve does not say what it was measured on; set Rig to the words used for the pair to be judged", name)
	}
	return Target{Name: name, Curve: c, Measured: true}, nil
}

// FromSeatings makes a target of another pair that was put on the rig several
// times: the mean, with an uncertainty that knows how neighbouring frequencies
// of one seating hang together. There must be at least two.
func FromSeatings(name string, seatings []response.Curve) (Target, error) {
	if len(seatings) < 2 {
		return Target{}, fmt.Errorf("target: pair %q: %d seatings; give two or more, or use FromPair", name, len(seatings))
	}
	for _, c := range seatings {
		if _, err := FromPair(name, c); err != nil {
			return Target{}, err
		}
	}
	mean, err := meanOf(seatings)
	if err != nil {
		return Target{}, fmt.Errorf("target: pair %q: %w", name, err)
	}
	e := scatter("target", seatings, mean)
	mean.Uncertainty = rootSumSquare(e.Curves)
	t, err := FromPair(name, mean)
	t.Components = e
	return t, err
}

// FromPairs makes a target of the mean of several trusted pairs measured on one
// rig, each moved so that its mean level over what all cover, every octave
// counting the same, is that of the first. There must be at least two.
//
// Spread is their standard deviation s per frequency, and the uncertainty of the
// mean s/√n with n − 1 degrees of freedom: how well n pairs tell what pairs of
// their kind have in common.
func FromPairs(name string, pairs []response.Curve) (Target, error) {
	if len(pairs) < 2 {
		return Target{}, fmt.Errorf("target: %q: %d pairs; give two or more, or use FromPair", name, len(pairs))
	}
	for _, c := range pairs {
		if _, err := FromPair(name, c); err != nil {
			return Target{}, err
		}
	}
	mean, err := meanOf(pairs)
	if err == nil {
		err = check(mean)
	}
	if err != nil {
		return Target{}, fmt.Errorf("target: %q: the pairs together: %w", name, err)
	}
	aligned, err := alignedPairs(pairs, mean)
	if err != nil {
		return Target{}, fmt.Errorf("target: %q: %w", name, err)
	}
	mean, err = meanOf(aligned)
	if err != nil {
		return Target{}, fmt.Errorf("target: %q: %w", name, err)
	}
	e := scatter("target", aligned, mean)
	mean.Uncertainty = rootSumSquare(e.Curves)
	t, err := FromPair(name, mean)
	t.Components, t.Spread = e, mean
	t.Spread.Uncertainty, t.Spread.Level = nil, slices.Clone(mean.Uncertainty)
	for i := range t.Spread.Level {
		t.Spread.Level[i] *= math.Sqrt(float64(len(pairs)))
	}
	return t, err
}

// alignedPairs moves the pairs to the level of the first over what all cover.
func alignedPairs(pairs []response.Curve, mean response.Curve) ([]response.Curve, error) {
	p, err := newPlan(mean, Tolerance{}, known(mean), PerOctave)
	if err != nil {
		return nil, err
	}
	gap := p.read(mean) // not known where any pair is not
	level := func(c response.Curve) float64 {
		d := p.read(c)
		for i, v := range gap {
			d[i] += 0 * v
		}
		return p.sumUp(d, 0, len(p.pieces)).mean
	}
	out := slices.Clone(pairs)
	for i, c := range pairs {
		out[i] = c.Offset(level(pairs[0]) - level(c))
	}
	return out, nil
}

// rootSumSquare is what independent effects come to at each frequency.
func rootSumSquare(effects []response.Curve) []float64 {
	u := make([]float64, len(effects[0].Level))
	for _, e := range effects {
		for i, v := range e.Level {
			u[i] = math.Hypot(u[i], v)
		}
	}
	return u
}
