package session

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/target"
)

// turned is a pair whose condition B has 3 dB more about 2.5 kHz, in seatings 0 … n−1 of A and n …
// 2n−1 of B.
func turned(t *testing.T, n int) *evening {
	e := newEvening(t)
	played := e.stimulus.Channels()
	e.save(t, "direct.wav", e.rig.Direct(played))
	other := e.headphones
	other.Left.Filters = append(slices.Clone(other.Left.Filters), rig.Peak(2500, 1, 3))
	other.Right.Filters = append(slices.Clone(other.Right.Filters), rig.Peak(2500, 1, 3))
	for i := range n {
		e.save(t, fmt.Sprintf("a%d.wav", i), e.rig.Through(e.headphones, i, played))
		e.save(t, fmt.Sprintf("b%d.wav", i), e.rig.Through(other, n+i, played))
	}
	return e
}

func both(file, keys string) string {
	return fmt.Sprintf("[[seating]]\nleft = { file = %q, channel = 1 }\nright = { file = %q, channel = 2 }\n%s\n", file, file, keys)
}

const toDirect = "[direct]\nfile = \"direct.wav\"\n"

func TestConditionsAreCompared(t *testing.T) {
	race.Skip(t)
	long.Skip(t)
	e := turned(t, 4)
	text := toDirect
	for i := range 4 {
		text += both(fmt.Sprintf("a%d.wav", i), `condition = "off"`) + both(fmt.Sprintf("b%d.wav", i), `condition = "on"`)
	}
	r, err := e.measure(t, text+"[[compare]]\norder = \"random\"\n")
	require.NoError(t, err)
	require.Len(t, r.Changes, 1)
	c := r.Changes[0]
	assert.Equal(t, target.Yes, c.Answer, c.String())
	assert.InDelta(t, 3, c.Curve.At(2500), 0.4, "the level of a treble that moves by 0.3 dB from seating to seating")
	assert.True(t, slices.ContainsFunc(c.Changed, func(b response.Band) bool { return b.Contains(2500) }), c.String())
	assert.Equal(t, 4, r.Seatings, "the review is of one condition")
	assert.Contains(t, strings.Join(r.Notes, "\n"), "The review is of off")
	assert.Empty(t, c.Notes)
	names := map[string]bool{}
	for _, f := range c.Figures {
		names[f.Name] = true
	}
	for _, name := range []string{"level", "tilt", "channel balance (L−R)", "distortion at 1 kHz"} {
		assert.True(t, names[name], name)
	}

	r, err = e.measure(t, text+"[[compare]]\norder = \"in turn\"\nlow = 100\n")
	require.NoError(t, err)
	assert.Contains(t, r.Changes[0].Design, "in turn")
	assert.Equal(t, target.Yes, r.Changes[0].Answer, r.Changes[0].String())

	r, err = e.measure(t, text)
	require.NoError(t, err)
	require.Len(t, r.Changes, 1, "every two conditions without being asked")
	assert.Contains(t, strings.Join(r.Changes[0].Notes, ""), "was not drawn")

	placed := strings.ReplaceAll(text, "condition", "placement = \"a\"\ncondition")
	r, err = e.measure(t, strings.Replace(placed, "placement = \"a\"", "placement = \"b\"", 2))
	require.NoError(t, err)
	assert.Contains(t, r.Changes[0].Design, "paired")

	specimens := strings.ReplaceAll(text, "condition", "specimen")
	r, err = e.measure(t, specimens)
	require.NoError(t, err)
	require.NotNil(t, r.Specimens)
	assert.Equal(t, []string{"off", "on"}, r.Specimens.Names)
	assert.Empty(t, r.Changes)
}

func TestSessionsOfTwoDaysAreCompared(t *testing.T) {
	race.Skip(t)
	long.Skip(t)
	e := turned(t, 2)
	later := *e
	later.folder = filepath.Join(e.folder, "later")
	require.NoError(t, os.Mkdir(later.folder, 0o755))
	for _, name := range []string{"direct.wav", "b0.wav", "b1.wav"} {
		require.NoError(t, os.Rename(filepath.Join(e.folder, name), filepath.Join(later.folder, name)))
	}
	e.save(t, "direct.wav", e.rig.Direct(e.stimulus.Channels()))
	_, err := later.measure(t, toDirect+both("b0.wav", "")+both("b1.wav", ""))
	require.NoError(t, err)
	own := toDirect + both("a0.wav", "") + both("a1.wav", "")
	r, err := e.measure(t, own+"[[compare]]\nsessions = [\"later\"]\n")
	require.NoError(t, err)
	require.Len(t, r.Changes, 1, "%v", r.Notes)
	assert.Equal(t, "this session", r.Changes[0].From)
	assert.Equal(t, "later", r.Changes[0].To)
	assert.Equal(t, target.CannotTell, r.Changes[0].Answer)
	assert.Contains(t, strings.Join(r.Changes[0].Notes, ""), "on a day of its own")
	r, err = e.measure(t, own+"[[compare]]\nsessions = [\"later\"]\nday = 0.2\n")
	require.NoError(t, err)
	assert.False(t, r.Changes[0].Possible != r.Changes[0].Possible, "the uncertainty of a day is stated, so there is an interval")

	text, err := os.ReadFile(filepath.Join(later.folder, "session.toml"))
	require.NoError(t, err)
	elsewhere := strings.Replace(string(text), `name = "plate"`, `name = "ear"`, 1)
	require.NoError(t, os.WriteFile(filepath.Join(later.folder, "session.toml"), []byte(elsewhere), 0o644))
	r, err = e.measure(t, own+"[[compare]]\nsessions = [\"later\"]\n")
	require.NoError(t, err)
	assert.Empty(t, r.Changes)
	assert.Contains(t, strings.Join(r.Notes, "\n"), response.ErrOtherRig.Error())
	_, err = e.measure(t, own+"[[compare]]\nsessions = [\".\"]\n")
	assert.ErrorContains(t, err, "counts only once")
}

// The quantities besides the response are also compared between days. The isolation of the other
// day is 6 dB more.
func TestFiguresOfSessionsAreCompared(t *testing.T) {
	race.Skip(t)
	long.Skip(t)
	e := turned(t, 2)
	later := *e
	later.folder = filepath.Join(e.folder, "later")
	require.NoError(t, os.Mkdir(later.folder, 0o755))
	text := toDirect + "[isolation]\nopen = \"open.wav\"\ncovered = \"covered.wav\"\n"
	r := rand.New(rand.NewPCG(1, 1))
	for day, one := range []*evening{e, &later} {
		for name, gain := range map[string]float64{"open.wav": 0.1, "covered.wav": 0.01 / float64(day+1)} {
			noise := make([]float64, 48000*5)
			for i := range noise {
				noise[i] = gain * r.NormFloat64()
			}
			one.save(t, name, [][]float64{noise})
		}
		one.save(t, "direct.wav", e.rig.Direct(e.stimulus.Channels()))
		for i := range 2 {
			one.save(t, fmt.Sprintf("a%d.wav", i), e.rig.Through(e.headphones, 2*day+i, e.stimulus.Channels()))
		}
		_, err := one.measure(t, text+both("a0.wav", "")+both("a1.wav", ""))
		require.NoError(t, err)
	}
	changes, _, err := CompareSessions([]string{e.folder, later.folder}, Compare{Order: "random", Day: 0.2}, func(string) {})
	require.NoError(t, err)
	require.Len(t, changes, 1)
	figures := map[string]response.Figure{}
	for _, f := range changes[0].Figures {
		figures[f.Name] = f.Figure
	}
	assert.InDelta(t, 6.02, figures["isolation at 1 kHz"].Value, 0.5, "a third octave of five seconds of noise is known to 0.2 dB")
	assert.True(t, math.IsNaN(figures["isolation at 1 kHz"].Uncertainty), "one measurement of isolation a day does not show the scatter")
	assert.Contains(t, figures, "distortion at 1 kHz")
	assert.Greater(t, figures["channel balance (L−R)"].Uncertainty, 0.2, "the uncertainty of a day is in it")
	if decay, there := figures["decay at 1 kHz"]; there {
		assert.True(t, math.IsNaN(decay.Uncertainty), "the uncertainty of a day is stated in dB")
	}
	copied, err := os.ReadFile(filepath.Join(e.folder, "a0.wav"))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(later.folder, "a1.wav"), copied, 0o644))
	_, _, err = CompareSessions([]string{e.folder, e.folder + "/later"}, Compare{}, func(string) {})
	assert.ErrorContains(t, err, "the same recording under two names")
}

func TestConditionsThatContradictThemselves(t *testing.T) {
	head := "[headphones]\nname = \"Finchale\"\n[rig]\nname = \"plate\"\n[direct]\nfile = \"direct.wav\"\n"
	two := both("a.wav", `condition = "off"`) + both("b.wav", `condition = "on"`)
	for text, says := range map[string]string{
		two + "[[compare]]\nconditions = [\"off\"]\n":                            `names one condition, "off"`,
		two + "[[compare]]\nconditions = [\"off\", \"of\"]\n":                    `no seating has condition = "of"`,
		two + "[[compare]]\nagainst = \"nothing\"\n":                             `no seating has condition = "nothing"`,
		two + "[[compare]]\norder = \"backwards\"\n":                             `order = "backwards"`,
		two + "[[compare]]\nmargin = -1\n":                                       "below zero",
		both("a.wav", "") + "[[compare]]\n":                                      "all seatings are in one,",
		both("a.wav", "") + both("b.wav", `condition = "on"`):                    "others have none",
		both("a.wav", `condition = "off"`) + both("a.wav", `condition = "on"`):   "a recording belongs to only one",
		both("a.wav", `specimen = "No. 1"`) + both("b.wav", `specimen = "no 1"`): "use one spelling",
		two + "[[compare]]\ncondition = [\"off\"]\n":                             "conditions",
		both("a.wav", `condition = "On"`) + both("b.wav", `condition = "on"`):    "use one spelling",
		strings.Replace(two, "condition", "conditon", 1):                         "condition",
	} {
		_, err := Decode([]byte(head + text))
		assert.ErrorContains(t, err, says, text)
		assert.True(t, errors.Is(err, ErrSession), text)
	}
	_, err := Decode([]byte(head + two))
	assert.NoError(t, err)
}
