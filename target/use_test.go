package target_test

import (
	"math"
	"strings"
	"testing"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/target"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// One-sided Student's t with 4 degrees of freedom at 95 %: 2.132 (any table).
func TestDecisionRuleJCGM106(t *testing.T) {
	at := func(v, u float64) response.Figure {
		return response.Figure{Value: v, Uncertainty: u, DegreesOfFreedom: 4, Unit: "dB"}
	}
	for name, row := range map[string]struct {
		f         response.Figure
		low, high float64
		want      target.Answer
	}{
		"clear of the limit":        {at(0.78, 0.1), math.Inf(-1), 1, target.Yes},
		"within the guard band":     {at(0.79, 0.1), math.Inf(-1), 1, target.CannotTell},
		"just beyond the limit":     {at(1.21, 0.1), math.Inf(-1), 1, target.CannotTell},
		"beyond limit and guard":    {at(1.22, 0.1), math.Inf(-1), 1, target.No},
		"exact, at the limit":       {at(1, 0), math.Inf(-1), 1, target.Yes},
		"exact, beyond":             {at(1.001, 0), math.Inf(-1), 1, target.No},
		"below the lower limit":     {at(-1.22, 0.1), -1, 1, target.No},
		"inside two limits":         {at(0, 0.1), -1, 1, target.Yes},
		"too unsure for two limits": {at(0, 1), -1, 1, target.CannotTell},
		"uncertainty is not known":  {at(0, math.NaN()), -1, 1, target.CannotTell},
		"value is not known":        {at(math.NaN(), 0.1), -1, 1, target.CannotTell},
	} {
		t.Run(name, func(t *testing.T) {
			assert.Equal(t, row.want.String(), target.Decide(row.f, row.low, row.high, 0.95).String())
		})
	}
	assert.Panics(t, func() { target.Decide(at(0, 1), 0, 1, 1) })
}

// tilted returns a session whose deviation from flat is a tilt, with a scatter of a hundredth dB
// per octave.
func tilted(perOctave float64) []response.Curve { return fixed("", perOctave, 0.01).Seatings }

func level(dB float64) []response.Curve {
	out := fixed("", 0, 0.001).Seatings
	for i := range out {
		out[i] = out[i].Offset(dB)
	}
	return out
}

func thd(f, percent, uncertainty float64) distortion.THD {
	return distortion.THD{Frequency: f, Level: 94, Reading: distortion.Reading{Figure: response.Figure{Value: percent, Uncertainty: uncertainty, Unit: "%"}, AsRead: percent, Bound: math.NaN()}}
}

func judge(t *testing.T, u target.Use, e target.Evidence) target.Verdict {
	t.Helper()
	v, err := u.Judge(e, target.Flat(), target.Config{})
	require.NoError(t, err)
	return v
}

func TestUsesAnswerYesNoAndCannotTell(t *testing.T) {
	good := target.Evidence{Seatings: tilted(0.02), Match: level(0.2), THD: []distortion.THD{thd(1000, 0.2, 0.01)}}
	for _, u := range target.Uses() {
		v := judge(t, u, good)
		assert.Equal(t, target.Yes, v.Answer, "%s: %v", u.Name, v.Reasons)
		assert.Len(t, v.Needs, len(u.Needs))
		assert.Len(t, v.Reasons, len(u.Needs))
		for _, n := range v.Needs {
			assert.NotEmpty(t, n.Why)
			assert.NotContains(t, n.Reason, "%!")
		}
	}
	// A tilt of −1 dB per octave over 20 Hz–20 kHz has an rms of 2.9 dB.
	dull := good
	dull.Seatings = tilted(-1)
	v := judge(t, useFor(t, "mixing"), dull)
	assert.Equal(t, target.No, v.Answer)
	assert.Len(t, v.Reasons, 2, "rms and tilt; %v", v.Reasons)
	assert.Contains(t, v.Reasons[0], "the rms deviation over 20 Hz–20 kHz, 2.8")
	assert.Contains(t, v.Reasons[0], "is beyond 2.5 dB: balances between instruments")
	assert.Contains(t, v.Reasons[1], "the tilt over 20 Hz–20 kHz, -1.000 dB/octave (95 % confidence: -1.025 to -0.975 dB/octave), is beyond 0.5 dB/octave: mixes will be too",
		"0.01/√3 dB/octave, times 4.3027, Student's t of a table for 2 degrees of freedom")

	lopsided := good
	lopsided.Match = level(3)
	assert.Equal(t, target.No, judge(t, useFor(t, "games"), lopsided).Answer)
	assert.Contains(t, judge(t, useFor(t, "games"), lopsided).Reasons[0], "the mean channel balance (L−R) over 500 Hz–8 kHz, +3.0")

	rough := good
	rough.THD = []distortion.THD{thd(200, 5, 0.1), thd(1000, 0.2, 0.01)}
	v = judge(t, useFor(t, "voice"), rough)
	assert.Equal(t, target.No, v.Answer)
	assert.Contains(t, v.Reasons[0], "5 % at 200 Hz and 94 dB SPL, is beyond 2 %: voices will seem rough")
}

func TestUseCannotTellWithoutEvidence(t *testing.T) {
	v := judge(t, useFor(t, "mixing"), target.Evidence{Seatings: tilted(0.02)})
	assert.Equal(t, target.CannotTell, v.Answer)
	assert.Equal(t, []string{
		"the mean channel balance (L−R) over 200 Hz–8 kHz is not known: the two sides were not both measured",
		"the largest harmonic distortion in 100 Hz–5 kHz is not known: it was not measured there",
	}, v.Reasons)

	v = judge(t, useFor(t, "general listening"), target.Evidence{Seatings: tilted(0.02)[:1], Match: level(0)[:1]})
	assert.Equal(t, target.CannotTell, v.Answer)
	assert.Contains(t, v.Reasons[0], "its uncertainty is not known: one seating does not show how much seatings differ")

	half := tilted(0.02)
	for i, c := range half {
		half[i] = c.Within(response.Band{Low: 200, High: 20000})
	}
	v = judge(t, useFor(t, "mixing"), target.Evidence{Seatings: half, Match: level(0), THD: []distortion.THD{thd(1000, 0.2, 0.01)}})
	assert.Equal(t, target.CannotTell, v.Answer)
	assert.Contains(t, strings.Join(v.Reasons, "\n"), "but only 64 % of the weight is known")
	assert.Contains(t, strings.Join(v.Reasons, "\n"), "the mean deviation over 40 Hz–200 Hz is not known")
	assert.NotEmpty(t, v.Warnings)
}

// If nothing is known in a use's band, the answer is "cannot tell", not an error.
func TestUseBeyondWhatIsKnown(t *testing.T) {
	bass := tilted(0.02)
	for i, c := range bass {
		bass[i] = c.Within(response.Band{Low: 20, High: 120})
	}
	v := judge(t, useFor(t, "voice"), target.Evidence{Seatings: bass, Match: bass, THD: []distortion.THD{thd(200, 5, 0.1)}})
	assert.Equal(t, target.No, v.Answer, "its distortion is known")
	v = judge(t, useFor(t, "voice"), target.Evidence{Seatings: bass, Match: bass})
	assert.Equal(t, target.CannotTell, v.Answer)
	for _, n := range v.Needs {
		assert.Equal(t, target.CannotTell, n.Answer, n.Reason)
		assert.Contains(t, n.Reason, "is not known")
	}
}

func TestDistortionBelowTheNoise(t *testing.T) {
	use := target.Use{Name: "x", Band: target.Audible, Weight: target.PerOctave, Needs: []target.Need{{What: target.HarmonicShare, Over: target.Audible, Limit: 0.1, Why: "so"}}}
	below := func(bound float64) distortion.THD {
		return distortion.THD{Frequency: 1000, Level: 94, Reading: distortion.Reading{Figure: response.NotKnown("%"), AsRead: 0.01, Below: true, Bound: bound}}
	}
	for name, row := range map[string]struct {
		thd    []distortion.THD
		want   target.Answer
		reason string
	}{
		"bound low enough":    {[]distortion.THD{below(0.05)}, target.Yes, "at most 0.05 %"},
		"bound too high":      {[]distortion.THD{below(0.5)}, target.CannotTell, "below the noise of this measurement, which is not low enough to tell"},
		"no bound":            {[]distortion.THD{below(math.NaN())}, target.CannotTell, "below the noise"},
		"one of two too high": {[]distortion.THD{below(0.5), thd(100, 0.4, 0.01)}, target.No, "0.4 % at 100 Hz"},
		"too near the limit":  {[]distortion.THD{thd(100, 0.1, 0.01), thd(1000, 0.01, 0.001)}, target.CannotTell, "too near the limit of 0.1 %"},
		"not in the need's":   {[]distortion.THD{thd(10, 5, 0.01)}, target.CannotTell, "not measured there"},
	} {
		t.Run(name, func(t *testing.T) {
			v := judge(t, use, target.Evidence{Seatings: tilted(0), THD: row.thd})
			assert.Equal(t, row.want.String(), v.Answer.String())
			assert.Contains(t, v.Reasons[0], row.reason)
		})
	}
	assert.Equal(t, "0.2 % at 1 kHz and a level that is not known", distortion.THD{Frequency: 1000, Level: math.NaN(), Reading: distortion.Reading{Figure: response.Figure{Value: 0.2, Unit: "%"}}}.String())
}

func TestThresholdsAreTheCallers(t *testing.T) {
	e := target.Evidence{Seatings: tilted(-0.7), Match: level(0), THD: []distortion.THD{thd(1000, 0.2, 0.01)}}
	u := useFor(t, "mixing")
	assert.Equal(t, target.No, judge(t, u, e).Answer)
	for i := range u.Needs {
		u.Needs[i].Limit *= 3
	}
	assert.Equal(t, target.Yes, judge(t, u, e).Answer)
	assert.InDelta(t, 0.5, useFor(t, "mixing").Needs[1].Limit, 0, "each call returns its own")
	u.Needs = []target.Need{{What: target.RippleAbout, Limit: 0.1, Why: "so"}, {What: target.MaxDeviationSize, Limit: 1, Why: "so"}}
	v := judge(t, u, e)
	assert.Contains(t, v.Needs[0].Reason, "the ripple over")
	assert.Equal(t, target.Yes, v.Needs[0].Answer, v.Needs[0].Reason)
	assert.Contains(t, v.Needs[1].Reason, "the largest deviation in")
	assert.Equal(t, target.No, v.Needs[1].Answer)
}

func TestUsesThatCannotBeJudged(t *testing.T) {
	use := func(n ...target.Need) target.Use {
		return target.Use{Name: "x", Band: target.Audible, Weight: target.PerOctave, Needs: n}
	}
	for want, u := range map[string]target.Use{
		"target: for x: nothing is asked for":           use(),
		"need 1: there is no quantity 99":               use(target.Need{What: 99}),
		"a limit of -1; limits are zero or more":        use(target.Need{Limit: -1}),
		"need 1: its band, 0 Hz to 0 Hz, holds nothing": use(target.Need{What: target.RegionLevel, Limit: 1}),
	} {
		_, err := u.Judge(target.Evidence{Seatings: tilted(0)}, target.Flat(), target.Config{})
		assert.ErrorContains(t, err, want)
	}
	_, err := useFor(t, "mixing").Judge(target.Evidence{}, target.Flat(), target.Config{})
	assert.ErrorContains(t, err, "for mixing: there is no response to judge")
	mixed := level(0)
	mixed[1].Rig = "ear simulator"
	_, err = useFor(t, "mixing").Judge(target.Evidence{Seatings: tilted(0), Match: mixed}, target.Flat(), target.Config{})
	assert.ErrorIs(t, err, response.ErrOtherRig)
}

// useFor returns one of the package's uses.
func useFor(t *testing.T, name string) target.Use {
	t.Helper()
	for _, u := range target.Uses() {
		if u.Name == name {
			return u
		}
	}
	require.Fail(t, "there is no such use", name)
	return target.Use{}
}
