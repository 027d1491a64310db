package target_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/target"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func rank(t *testing.T, o target.Config, sessions ...target.Pair) target.Ranking {
	t.Helper()
	r, err := target.Rank(sessions, target.Flat(), o)
	require.NoError(t, err)
	return r
}

func TestIntervalOfARankDifferenceHoldsTheTruth(t *testing.T) {
	long.Skip(t)
	for name, row := range map[string]struct {
		seed        uint64
		octaves, sd float64
		calibration float64
	}{
		"narrow errors":               {21, 1. / 3, 1, 0},
		"broad errors":                {22, 1, 0.5, 0},
		"a calibration shared by all": {23, 1, 0.5, 0.3},
	} {
		t.Run(name, func(t *testing.T) {
			s := newSimulator(row.seed)
			n, least, most := sessions()
			a, b := s.shaped(t, 1.5), s.shaped(t, 2)
			effect := s.wander(2, row.calibration)
			var held float64
			for range n {
				off := make([]float64, len(s.grid))
				z := s.NormFloat64()
				for i, v := range effect {
					off[i] = z * v
				}
				r := rank(t, target.Config{},
					target.Pair{Name: "a", Seatings: calibrated(effect, s.seatings(5, row.octaves, row.sd, a, off)...)},
					target.Pair{Name: "b", Seatings: calibrated(effect, s.seatings(5, row.octaves, row.sd, b, off)...)})
				d := between(t, r, "a", "b")
				held += holds(d.RMS, 0.5)
			}
			assert.GreaterOrEqual(t, held/float64(n), least)
			assert.LessOrEqual(t, held/float64(n), most)
		})
	}
}

func TestIdenticalPairsAreSeldomDeclaredDifferent(t *testing.T) {
	long.Skip(t)
	for name, row := range map[string]struct {
		seed  uint64
		pairs int
	}{"two": {31, 2}, "four": {32, 4}} {
		t.Run(name, func(t *testing.T) {
			s := newSimulator(row.seed)
			n, _, _ := sessions()
			level := s.shaped(t, 1.5)
			var apart, regions int
			for range n {
				var all []target.Pair
				for i := range row.pairs {
					all = append(all, target.Pair{Name: string(rune('a' + i)), Seatings: s.seatings(5, 0.5, 0.5, level)})
				}
				wrong, wrongRegion := 0, 0
				for _, d := range rank(t, target.Config{}, all...).Differences {
					if d.Separated {
						wrong = 1
					}
					for _, r := range d.Regions {
						if r.Separated {
							wrongRegion = 1
						}
					}
				}
				apart, regions = apart+wrong, regions+wrongRegion
			}
			most := n / 20
			if race.Enabled {
				most = 6 // of 30; chance makes more than that twice in a thousand
			}
			assert.LessOrEqual(t, apart, most)
			assert.LessOrEqual(t, regions, most)
		})
	}
}

// Equal pairs, each placed with its own error of a known standard deviation of 0.3 or 0.5 dB, are
// separated in at most 5 % of draws. A pair that is 2 dB further from flat, at least four standard
// uncertainties, is separated in nearly all of them.
func TestPlacementIsNoDifferenceBetweenPairs(t *testing.T) {
	long.Skip(t)
	s := newSimulator(34)
	n, _, _ := sessions()
	n = max(30, n/2)
	placed := func(name string, u float64, level []float64) target.Pair {
		cause := response.Cause{Name: "placement", CommonTo: response.OnePair, Key: name}
		out := target.Pair{Name: name, Seatings: s.seatings(3, 0.5, 0.3, level, s.wander(1, u))}
		for i, c := range out.Seatings {
			out.Seatings[i] = c.With(cause, func(float64) float64 { return u }, 1)
		}
		return out
	}
	base, further := s.shaped(t, 1.5), s.shaped(t, 3.5)
	wrong, found := 0, 0
	for range n {
		if rank(t, target.Config{}, placed("a", 0.3, base), placed("b", 0.5, base)).Differences[0].Separated {
			wrong++
		}
		if rank(t, target.Config{}, placed("a", 0.3, base), placed("b", 0.5, further)).Differences[0].Separated {
			found++
		}
	}
	assert.LessOrEqual(t, float64(wrong)/float64(n), 0.05+3*math.Sqrt(0.05*0.95/float64(n)), "three standard deviations of chance")
	assert.GreaterOrEqual(t, float64(found)/float64(n), 0.85)
}

// A pair that is 1 dB louder from 250 Hz to 2 kHz is separated from one that is not, with 5
// seatings that scatter by 0.5 dB.
func TestABroadDifferenceOfOneDecibelIsFound(t *testing.T) {
	long.Skip(t)
	s := newSimulator(33)
	n, _, _ := sessions()
	n = max(30, n/3) // the shares are far from the limits
	base := s.shaped(t, 2)
	louder := make([]float64, len(base))
	for i, f := range s.grid {
		if f >= 250 && f <= 2000 {
			louder[i] = 1
		}
	}
	named := target.Config{Regions: []target.Region{{Name: "250 Hz to 2 kHz", Band: response.Band{Low: 250, High: 2000}}}}
	var found, somewhere, fromTarget int
	trusted, err := target.FromPair("the first", s.curve(base))
	require.NoError(t, err)
	trusted.Curve.Uncertainty = make([]float64, len(s.grid))
	for range n {
		a := target.Pair{Name: "a", Seatings: s.seatings(5, 1./3, 0.5, base)}
		b := target.Pair{Name: "b", Seatings: s.seatings(5, 1./3, 0.5, base, louder)}
		if rank(t, named, a, b).Differences[0].Regions[0].Separated {
			found++
		}
		if slices.ContainsFunc(rank(t, target.Config{}, a, b).Differences[0].Regions, func(r target.RegionDifference) bool { return r.Separated }) {
			somewhere++
		}
		r, err := target.Rank([]target.Pair{a, b}, trusted, target.Config{})
		require.NoError(t, err)
		if r.Differences[0].Separated && r.Places[0].Name == "a" {
			fromTarget++
		}
	}
	assert.GreaterOrEqual(t, float64(found)/float64(n), 0.9, "in the band where it is looked for")
	assert.GreaterOrEqual(t, float64(somewhere)/float64(n), 0.8, "in any of seven regions, none of which is that band")
	assert.GreaterOrEqual(t, float64(fromTarget)/float64(n), 0.9, "by the rms deviation from the expected first place")
}

// fixed makes a session whose rms deviations from flat scatter by a known tilt: a tilt of s dB per
// octave has an rms of s·log2(1000)/√12 over 20 Hz–20 kHz.
func fixed(name string, tilt, scatter float64) target.Pair {
	s := newSimulator(1)
	var out []response.Curve
	for _, k := range []float64{-1, 0, 1} {
		v := make([]float64, len(s.grid))
		for i, f := range s.grid {
			v[i] = (tilt + k*scatter) * math.Log2(f/1000)
		}
		out = append(out, s.curve(v))
	}
	return target.Pair{Name: name, Seatings: out}
}

func TestRankingShowsTies(t *testing.T) {
	r := rank(t, target.Config{}, fixed("worst", 2, 0.02), fixed("best", 0.5, 0.02), fixed("second", 1, 0.02), fixed("tied", 1.01, 0.02))
	names := []string{}
	for _, p := range r.Places {
		names = append(names, p.Name)
	}
	assert.Equal(t, []string{"best", "second", "tied", "worst"}, names)
	assert.Equal(t, 1, r.Places[0].Pair)
	assert.Equal(t, [][2]int{{1, 1}, {2, 3}, {2, 3}, {4, 4}}, [][2]int{
		{r.Places[0].Best, r.Places[0].Worst}, {r.Places[1].Best, r.Places[1].Worst}, {r.Places[2].Best, r.Places[2].Worst}, {r.Places[3].Best, r.Places[3].Worst}})
	require.Len(t, r.Differences, 6)
	d := between(t, r, "best", "worst")
	assert.InDelta(t, 1.5*math.Log2(1000)/math.Sqrt(12), d.RMS.Value, 1e-3) // the part from the scatter is subtracted
	assert.True(t, d.Separated)
	// Each rms scatters by 0.02·log2(1000)/√12 = 0.0575; the mean of three by 1/√3 of
	// that, the difference of two by √2 as much, with 4 degrees of freedom.
	assert.InDelta(t, 0.0575*math.Sqrt(2./3), d.RMS.Uncertainty, 2e-4)
	assert.InDelta(t, 4, d.RMS.DegreesOfFreedom, 0.01)
}

func TestTiesMayOverlap(t *testing.T) {
	r := rank(t, target.Config{}, fixed("a", 1, 0.1), fixed("b", 1.15, 0.1), fixed("c", 1.35, 0.1))
	assert.Equal(t, []int{1, 1, 2}, []int{r.Places[0].Best, r.Places[1].Best, r.Places[2].Best})
	assert.Equal(t, []int{2, 3, 3}, []int{r.Places[0].Worst, r.Places[1].Worst, r.Places[2].Worst})
}

// Holm's procedure on 0.01, 0.04, 0.03: in order 3·0.01, 2·0.03, and 0.04, which is raised to the
// 0.06 before it.
func TestDifferencesAreAdjustedByHolm(t *testing.T) {
	r := rank(t, target.Config{}, fixed("a", 1, 0.05), fixed("b", 1.2, 0.05), fixed("c", 1.3, 0.05))
	type pair struct{ p, adjusted float64 }
	var ps []pair
	for _, d := range r.Differences {
		ps = append(ps, pair{d.P, d.Adjusted})
	}
	for i := range ps {
		for k := i + 1; k < len(ps); k++ {
			if ps[k].p < ps[i].p {
				ps[i], ps[k] = ps[k], ps[i]
			}
		}
	}
	assert.InDelta(t, 3*ps[0].p, ps[0].adjusted, 1e-12)
	assert.InDelta(t, max(2*ps[1].p, ps[0].adjusted), ps[1].adjusted, 1e-12)
	assert.InDelta(t, max(ps[2].p, ps[1].adjusted), ps[2].adjusted, 1e-12)
	// Differences of 0.1, 0.2 and 0.3 in tilt are t = 0.1/(0.05·√(2/3)) and so on with
	// about 4 degrees of freedom: 2.449, two-sided 0.0705 (R 4.2: 2*pt(-2.449, 4); from memory).
	assert.InDelta(t, 0.0705, ps[2].p, 0.001)
}

func TestRankingOverTheCommonBand(t *testing.T) {
	narrow := fixed("narrow", 1, 0.1)
	for i, c := range narrow.Seatings {
		narrow.Seatings[i] = c.Within(response.Band{Low: 100, High: 8000})
	}
	r := rank(t, target.Config{}, fixed("wide", 1, 0.1), narrow)
	assert.InDelta(t, 100, r.Band.Low, 15)
	assert.InDelta(t, 8000, r.Band.High, 1000)
	assert.InDelta(t, r.Places[0].Deviation.RMS.Value, r.Places[1].Deviation.RMS.Value, 0.01, "both over the same band")
	require.NotEmpty(t, r.Warnings)
	assert.Contains(t, r.Warnings[0], "asked to rank over 20 Hz–20 kHz, ranked over")
	assert.False(t, r.Differences[0].Separated)
}

func TestSessionMeasuredOnceIsSeparatedFromNone(t *testing.T) {
	once := fixed("once", 5, 0.1)
	once.Seatings = once.Seatings[:1]
	r := rank(t, target.Config{}, fixed("a", 1, 0.1), once, fixed("b", 2, 0.1))
	for _, d := range r.Differences {
		known := r.Places[d.A].Name != "once" && r.Places[d.B].Name != "once"
		assert.Equal(t, known, d.Separated)
		assert.Equal(t, known, !math.IsNaN(d.P))
	}
	assert.Contains(t, r.Warnings[0], "once was measured once")
}

// One seating given three times would have no scatter at all.
func TestOneSeatingNamedTwiceIsReported(t *testing.T) {
	twice := fixed("twice", 5, 0.1)
	twice.Seatings = append(twice.Seatings, twice.Seatings[1])
	r := rank(t, target.Config{}, fixed("a", 1, 0.1), twice)
	assert.Contains(t, strings.Join(r.Warnings, " "), fmt.Sprintf("seatings 2 and %d of twice hold the same response", len(twice.Seatings)))
}

// A pair that is named among its own rivals would hold two places.
func TestOnePairRankedTwiceIsReported(t *testing.T) {
	a, b := fixed("a", 1, 0.1), fixed("b", 2, 0.1)
	again := a
	again.Name, again.Seatings = "a again", nil
	for _, c := range a.Seatings {
		again.Seatings = append(again.Seatings, c.Offset(0.7)) // by the microphone at the calibrator's frequency
	}
	r := rank(t, target.Config{}, a, b, again)
	assert.Equal(t, []string{"seating 1 of a and seating 1 of a again hold the same response: one measurement is ranked twice"}, r.Warnings)
}

func TestSessionsThatCannotBeRanked(t *testing.T) {
	a, b := fixed("a", 1, 0.1), fixed("b", 2, 0.1)
	other := fixed("other", 1, 0.1)
	for i := range other.Seatings {
		other.Seatings[i].Rig = "ear simulator"
	}
	apart := fixed("apart", 1, 0.1)
	for i, c := range apart.Seatings {
		apart.Seatings[i] = c.Within(response.Band{Low: 20, High: 100})
	}
	high := fixed("high", 1, 0.1)
	for i, c := range high.Seatings {
		high.Seatings[i] = c.Within(response.Band{Low: 200, High: 1000})
	}
	for want, sessions := range map[string][]target.Pair{
		"there are 1 sessions to rank; a ranking needs two or more": {a},
		"there are 0 sessions": nil,
		`"a" on "flat plate" and "other" on "ear simulator"; rank pairs measured on one rig`: {a, b, other},
		`session "empty" has no seating`:                                       {a, {Name: "empty"}},
		"there is no frequency at which all sessions and the target are known": {apart, high},
		`session "broken": seating 1: response: a curve needs`:                 {a, {Name: "broken", Seatings: []response.Curve{{Rig: "flat plate"}}}},
	} {
		_, err := target.Rank(sessions, target.Flat(), target.Config{})
		assert.ErrorContains(t, err, want)
	}
	_, err := target.Rank([]target.Pair{a, other}, target.Flat(), target.Config{})
	assert.ErrorIs(t, err, response.ErrOtherRig)
	r, err := target.Rank([]target.Pair{a, other}, target.Flat(), target.Config{AllowOtherRig: true})
	require.NoError(t, err)
	assert.Contains(t, r.Warnings[0], "the difference between the rigs is in the ranking")
	_, err = target.Rank([]target.Pair{a, b}, target.Flat(), target.Config{Band: response.Band{Low: 200, High: 20}})
	assert.ErrorContains(t, err, "give its low end first")
}

// between returns the difference of two pairs by name, b less a; the better one comes first in a
// ranking.
func between(t require.TestingT, r target.Ranking, a, b string) target.Difference {
	for _, d := range r.Differences {
		switch first, second := r.Places[d.A].Name, r.Places[d.B].Name; {
		case first == a && second == b:
			return d
		case first == b && second == a:
			d.RMS.Value = -d.RMS.Value
			d.Regions = slices.Clone(d.Regions)
			for i := range d.Regions {
				d.Regions[i].Mean.Value = -d.Regions[i].Mean.Value
			}
			return d
		}
	}
	require.Fail(t, "not in the ranking", "%s and %s", a, b)
	return target.Difference{}
}
