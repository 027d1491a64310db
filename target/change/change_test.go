package change_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/change"
)

func small(r *rand.Rand) func(float64) float64 { return level(0.02 * r.NormFloat64()) }

func TestAnswers(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	still := scatter{name: "small", draw: small}
	for _, one := range []struct {
		name   string
		a, b   int
		by     func(float64) float64
		answer target.Answer
		begins string
	}{
		{"3 dB about 3 kHz", 4, 4, bump(1.585, 0.2, 3), target.Yes, "Changed by +3.0 ± "},
		{"nothing", 4, 4, level(0), target.No, "No change was found, and no change larger than 0.1 dB"},
		{"one seating", 1, 1, bump(1.585, 0.2, 3), target.CannotTell, "Cannot tell: too little was measured"},
	} {
		c, err := change.Compare(seated(r, still, one.a, one.b, one.by, false, 0), change.Config{Random: true})
		require.NoError(t, err, one.name)
		assert.Equal(t, one.answer, c[0].Answer, one.name)
		assert.True(t, strings.HasPrefix(c[0].String(), one.begins), "%s: %s", one.name, &c[0])
	}
	noisy := seated(r, still, 1, 1, level(0), false, 0)
	for i := range noisy {
		noisy[i].Response = noisy[i].Response.With(response.Cause{Name: "noise"}, func(float64) float64 { return 0.01 }, 1)
	}
	c, err := change.Compare(noisy, change.Config{Random: true})
	require.NoError(t, err)
	assert.True(t, math.IsNaN(c[0].Possible), "noise is not the scatter of seatings")
	part := seated(r, still, 4, 4, bump(1.585, 0.2, 3), false, 0)
	for i := range part { // the uncertainty of two microphones, not known where the change is
		cause := response.Cause{Name: "microphone", CommonTo: response.OneRig, Key: part[i].Condition}
		part[i].Response = part[i].Response.With(cause, func(f float64) float64 {
			if f > 1500 && f < 6000 {
				return math.NaN()
			}
			return 0.01
		}, 1)
	}
	c, err = change.Compare(part, change.Config{Random: true})
	require.NoError(t, err)
	assert.True(t, math.IsNaN(c[0].Possible), "an unknown stretch about 3 kHz excludes no change there")
	assert.Equal(t, target.CannotTell, c[0].Answer)
	assert.True(t, strings.HasPrefix(c[0].String(), "Cannot tell: the uncertainty is not known"), &c[0])
	c, err = change.Compare(seated(r, scatters[1], 3, 3, level(0), false, 0), change.Config{Random: true})
	require.NoError(t, err)
	assert.Equal(t, target.CannotTell, c[0].Answer, "a leak that moves by 2 dB hides half a decibel")
	assert.Contains(t, c[0].String(), "is left possible, at")
}

func TestNotesBesideAChange(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	still := scatter{name: "small", draw: small}
	notes := func(all []change.Seating, o change.Config) string {
		c, err := change.Compare(all, o)
		require.NoError(t, err)
		return strings.Join(c[0].Notes, "\n")
	}
	all := seated(r, still, 3, 3, level(0), false, 0)
	assert.Empty(t, notes(all, change.Config{Random: true}))
	assert.Contains(t, notes(all, change.Config{}), "order of the seatings was not drawn")
	apart := []change.Seating{all[0], all[2], all[4], all[1], all[3], all[5]}
	assert.Contains(t, notes(apart, change.Config{}), "before those of the next")
	assert.Contains(t, notes(seated(r, still, 3, 3, level(-6), false, 0), change.Config{Random: true}), "a gain or volume")
	assert.Contains(t, notes(seated(r, still, 1, 3, level(0), false, 0), change.Config{Random: true}), `one seating of "before"`)
	assert.Contains(t, notes(all, change.Config{Random: true, Band: response.Band{Low: 10, High: 10000}}), "where all seatings are known")
}

func TestDays(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	days := func(of func(i int, condition string) string) []change.Seating {
		all := seated(r, scatters[0], 4, 4, level(0), false, 0)
		for i := range all {
			all[i].Day = of(i, all[i].Condition)
		}
		return all
	}
	c, err := change.Compare(days(func(_ int, condition string) string { return condition }), change.Config{Random: true})
	require.NoError(t, err)
	assert.Contains(t, strings.Join(c[0].Notes, ""), "on a day of its own")
	assert.Equal(t, target.CannotTell, c[0].Answer)
	assert.True(t, math.IsNaN(c[0].Possible))
	unsure := c[0].Curve.HalfWidth(0.95)
	assert.Nil(t, unsure)

	c, err = change.Compare(days(func(_ int, condition string) string { return condition }), change.Config{Random: true, Day: 0.3})
	require.NoError(t, err)
	low, high := c[0].Figures[0].Interval(0.95)
	assert.Greater(t, high-low, 2*1.96*0.3*math.Sqrt2/math.Sqrt(8), "the effect of a day is correlated over an octave, and the band has eight octaves")

	c, err = change.Compare(days(func(i int, _ string) string { return string(rune('a' + i/4)) }), change.Config{Random: true})
	require.NoError(t, err)
	assert.Contains(t, c[0].Design, "on the same days")
	assert.Equal(t, 5.0, c[0].Figures[0].DegreesOfFreedom, "eight seatings less two conditions and one difference of days")

	c, err = change.Compare(days(func(i int, condition string) string { return condition + string(rune('a'+i/4)) }), change.Config{Random: true})
	require.NoError(t, err)
	assert.Contains(t, c[0].Design, "2 days and 2 days")
	assert.Equal(t, 2.0, c[0].Figures[0].DegreesOfFreedom, "four days, two conditions")
}

func TestWhatCannotBeCompared(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	all := seated(r, scatters[0], 2, 2, level(0), false, 0)
	other := seated(r, scatters[0], 2, 2, level(0), false, 0)
	other[3].Response.Rig = "another plate"
	narrow := seated(r, scatters[0], 2, 2, level(0), false, 0)
	narrow[1].Response = narrow[1].Response.Within(response.Band{Low: 12000, High: 14000})
	for says, call := range map[string]func() error{
		"there is one condition": func() error { _, err := change.Compare(all[:1], change.Config{}); return err },
		"seatings 1 and 4":       func() error { _, err := change.Compare(other, change.Config{}); return err },
		"not half an octave":     func() error { _, err := change.Compare(narrow, change.Config{}); return err },
		`the condition "later"`:  func() error { _, err := change.Compare(all, change.Config{Against: "later"}); return err },
		"a margin":               func() error { _, err := change.Compare(all, change.Config{Margin: -1}); return err },
		"a confidence":           func() error { _, err := change.Compare(all, change.Config{Confidence: 2}); return err },
		"from day to day":        func() error { _, err := change.Compare(all, change.Config{Day: math.NaN()}); return err },
		"seating 1":              func() error { _, err := change.Compare(make([]change.Seating, 2), change.Config{}); return err },
		"there are no seatings":  func() error { _, err := change.Compare(nil, change.Config{}); return err },
		"no session has two":     func() error { _, err := change.NewPlan(all[:2], change.Config{}); return err },
		"of earlier sessions":    func() error { _, err := change.NewPlan(nil, change.Config{}); return err },
		"specimens":              func() error { _, err := change.AcrossSpecimens(other, response.Band{}); return err },
	} {
		assert.ErrorContains(t, call(), says)
	}
	assert.ErrorIs(t, func() error { _, err := change.Compare(other, change.Config{}); return err }(), response.ErrOtherRig)
	assert.ErrorIs(t, func() error { _, err := change.Compare(narrow, change.Config{}); return err }(), target.ErrNoOverlap)
}

// Exchanging the conditions turns the sign round; three conditions give three changes, two of them
// against one.
func TestConditionsExchanged(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for _, placed := range []bool{false, true} {
		all := seated(r, scatters[0], 6, 6, level(1), placed, 0)
		one, err := change.Compare(all, change.Config{Random: true, Against: "before"})
		require.NoError(t, err)
		other, err := change.Compare(all, change.Config{Random: true, Against: "after"})
		require.NoError(t, err)
		for i, v := range one[0].Curve.Level {
			assert.InDelta(t, -v, other[0].Curve.Level[i], 1e-9, "rounding")
			assert.InDelta(t, one[0].Simultaneous[i], other[0].Simultaneous[i], 1e-6, "rounding")
		}
	}
	all := seated(r, scatters[0], 2, 2, level(1), false, 0)
	all = append(all, change.Seating{Condition: "much later", Response: all[0].Response})
	every, err := change.Compare(all, change.Config{})
	require.NoError(t, err)
	require.Len(t, every, 3)
	against, err := change.Compare(all, change.Config{Against: "after"})
	require.NoError(t, err)
	require.Len(t, against, 2)
	assert.Equal(t, "after", against[1].From)
}
