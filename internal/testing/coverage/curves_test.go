package coverage

import (
	"fmt"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/review"
)

// Figures that need only curves are also counted without recordings, a hundred times as fast: the
// curves of the seatings, with the components from package review, go through Results.Judge.
func TestCurves(t *testing.T) {
	race.Skip(t)
	b, err := newBench(48000)
	require.NoError(t, err)
	drawn := chosen()
	require.NotEmpty(t, drawn, "there is no family of that name")
	var named, others tally
	for i := range *sessions {
		f := drawn[i%len(drawn)]
		s := newSession(*seed, i, b, f)
		s.apart = true // package review treats both sides in one placement differently
		s.rig[1] = s.rig[0]
		if d := s.curves(t); f.named {
			named.draws = append(named.draws, d)
		} else {
			others.draws = append(others.draws, d.told(f.name))
		}
	}
	if testing.Verbose() {
		fmt.Printf("%d sessions of curves\n", *sessions)
		named.print(os.Stdout)
		others.print(os.Stdout)
	}
	named.check(t, *sessions <= few)
}

// averages returns the sides of a pair, averaged over its seatings and pooled, with their mean and
// difference.
func (s *session) averages(t *testing.T, name string, device [2]levels, seatings int) (sides [2]*response.Average, mean, match response.Curve) {
	for side, curves := range s.seatingCurves(name, device, seatings) {
		var err error
		sides[side], err = response.AverageOf(curves)
		require.NoError(t, err)
	}
	mean, match, err := response.PoolSides(sides[0], sides[1])
	require.NoError(t, err)
	return sides, mean, match
}

// together counts the mean of the sides and left less right of a pair of which both sides are
// recorded at once: their scatter is that of the means and differences of the seatings.
func (s *session) together(t *testing.T, d draw) {
	all := s.seatingCurves("pair together", s.device, s.seatings)
	var means, differences []response.Curve
	for k := range s.seatings {
		mean, err := response.MeanLevel(all[0][k], all[1][k])
		require.NoError(t, err)
		difference, err := all[0][k].Sub(all[1][k])
		require.NoError(t, err)
		means, differences = append(means, mean), append(differences, difference)
	}
	mean, err := response.AverageOf(means)
	require.NoError(t, err)
	difference, err := response.AverageOf(differences)
	require.NoError(t, err)
	of := fmt.Sprintf(", at once in %d seatings", min(s.seatings, 4))
	s.pointwise(d, "response, mean of the sides"+of, mean.Level, mean.Level.HalfWidth(0.95), s.true[0].plus(1, s.true[1]).times(0.5))
	s.pointwise(d, "left less right"+of, difference.Level, difference.Level.HalfWidth(0.95), s.true[0].plus(-1, s.true[1]))
}

// seatingCurves returns the curves of the seatings by side, with the components of their errors.
func (s *session) seatingCurves(name string, device [2]levels, seatings int) (all [2][]response.Curve) {
	off := s.placed()
	scopes := map[string]response.Cause{
		"placement": {CommonTo: response.OneSide}, "drift": {CommonTo: response.OnePair, Key: name},
		"coupler": {CommonTo: response.OneRig, Key: "rig"}, "microphone": {CommonTo: response.OneMicrophone, Key: "microphone"},
	}
	for side := range 2 {
		for range seatings {
			c := curve(device[side].plus(1, s.family.seated(s.Rand, side), off[side]))
			for _, one := range s.stated {
				cause := scopes[one.Name]
				cause.Name = one.Name
				if cause.CommonTo == response.OneSide {
					cause.Key = fmt.Sprint(name, side)
				}
				octaves := 1.0
				if one.Name == "drift" {
					octaves = 100
				}
				c = c.With(cause, func(float64) float64 { return one.Uncertainty }, octaves)
			}
			all[side] = append(all[side], c)
		}
	}
	return all
}

func (s *session) curves(t *testing.T) draw {
	d := draw{}
	sides, mean, match := s.averages(t, "pair", s.device, s.seatings)
	for k, side := range sides {
		s.pointwise(d, fmt.Sprintf("response of a side, %d seatings", min(s.seatings, 4)), side.Level, side.Level.HalfWidth(0.95), s.true[k])
		v, err := target.Compare(side.Level, target.Flat(), target.Config{})
		require.NoError(t, err)
		s.deviation(d, "a side", v, s.true[k], true)
	}
	middle, apart := s.true[0].plus(1, s.true[1]).times(0.5), s.true[0].plus(-1, s.true[1])
	s.pointwise(d, "response, mean of the sides", mean, mean.HalfWidth(0.95), middle)
	s.pointwise(d, "left less right", match, match.HalfWidth(0.95), apart)
	v, err := target.Compare(mean, target.Flat(), target.Config{})
	require.NoError(t, err)
	s.deviation(d, "mean", v, middle, true)
	v, err = target.CompareSides([]response.Curve{match}, review.MatchBand, target.Config{})
	require.NoError(t, err)
	s.deviation(d, "left less right", v, apart, false)
	s.together(t, d)
	devices, all := [][2]levels{s.device}, []target.Pair{{Name: "pair", Seatings: []response.Curve{mean}}}
	for k := range s.rivals {
		rival := device(s.Rand)
		devices = append(devices, rival)
		name := fmt.Sprint("rival", k)
		_, other, _ := s.averages(t, name, rival, 2+s.IntN(4))
		all = append(all, target.Pair{Name: name, Seatings: []response.Curve{other}})
	}
	if len(all) > 1 {
		ranking, err := target.Rank(all, target.Flat(), target.Config{})
		require.NoError(t, err)
		s.ranked(d, &ranking, devices)
	}
	return d
}
