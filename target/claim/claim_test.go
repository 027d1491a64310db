package claim_test

import (
	"math"
	"testing"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/claim"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The pair of these tests is invented. Its response falls by 3.01 dB at 40 Hz, as
// 10 lg(1 + (40/f)²), and by 3.01 dB at 16 kHz, as 10 lg(1 + (f/16000)⁴), and is
// known from 10 Hz to 20 kHz, where the microphone ends.
func fall(f float64) float64 {
	return -10*math.Log10(1+math.Pow(40/f, 2)) - 10*math.Log10(1+math.Pow(f/16000, 4))
}

// seatings returns five curves about a formula, level(f), that differ by a tilt with a standard
// deviation of exactly 0.1 dB at one octave from 1 kHz.
func seatings(level func(f float64) float64) []response.Curve {
	frequency := append(append([]float64{10}, response.LogGrid(10.1, 19900, 24)...), 20000)
	var all []response.Curve
	for _, slope := range []float64{-2, -1, 0, 1, 2} {
		c := response.Curve{Frequency: frequency, Level: make([]float64, len(frequency)), Rig: "flat plate", Valid: response.Band{Low: 10, High: 20000}}
		for i, f := range frequency {
			c.Level[i] = 90 + level(f) + 0.1*slope/math.Sqrt(2.5)*math.Log2(f/1000)
		}
		all = append(all, c)
	}
	return all
}

func plain(value, uncertainty float64, unit string) response.Figure {
	return response.Figure{Value: value, Uncertainty: uncertainty, Unit: unit}
}

func evidence() claim.Evidence {
	// Left is 0.6 dB louder than right at all frequencies, 2.6 dB above 10 kHz.
	match := seatings(func(f float64) float64 {
		if f > 10000 {
			return 2.6 - 90
		}
		return 0.6 - 90
	})
	thd := func(f, level, percent float64) distortion.THD {
		return distortion.THD{Frequency: f, Level: level, Reading: distortion.Reading{Figure: plain(percent, 0.02*percent, "%"), AsRead: percent, Bound: math.NaN()}}
	}
	below := distortion.THD{Frequency: 3000, Level: 94, Reading: distortion.Reading{Figure: response.NotKnown("%"), AsRead: 0.01, Below: true, Bound: 0.05}}
	return claim.Evidence{
		Evidence: target.Evidence{
			Seatings: seatings(fall), Match: match,
			THD: []distortion.THD{thd(1000, 94, 0.12), thd(1000, 104, 0.4), thd(100, 94, 0.9), below},
		},
		Microphone: response.Band{Low: 10, High: 20000}, SampleRate: 48000,
		Loudest: []claim.LoudestLevel{
			{FigureAt: claim.FigureAt{Frequency: 1000, Figure: plain(112, 0.4, "dB SPL")}, Percent: 1},
			{FigureAt: claim.FigureAt{Frequency: 100, Figure: plain(104, 0.4, "dB SPL")}, Percent: 1, Limited: true},
		},
		Sensitivity: []claim.FigureAt{{Frequency: 1000, Figure: plain(98, 0.5, claim.PerMilliwatt)}},
		Impedance: []claim.FigureAt{
			{Frequency: 100, Figure: plain(45, 0.3, "Ω")}, {Frequency: 1000, Figure: plain(33, 0.2, "Ω")}, {Frequency: 3000, Figure: plain(27, 0.2, "Ω")},
		},
	}
}

// Claims in makers' words, with invented numbers, and their verdicts from the evidence above.
func TestClaimsAsMakersWordThem(t *testing.T) {
	at1k := claim.Reference{At: 1000}
	hz := func(low, high float64) response.Band { return response.Band{Low: low, High: high} }
	usual := evidence()
	nothing := claim.Evidence{}
	other := func(change func(*claim.Evidence)) claim.Evidence {
		e := evidence()
		change(&e)
		return e
	}
	noMic := other(func(e *claim.Evidence) { e.Microphone = response.Band{} })
	silent := other(func(e *claim.Evidence) { e.Microphone, e.SampleRate = response.Band{}, 0 })
	once := other(func(e *claim.Evidence) { e.Seatings = e.Seatings[:1] })
	notch := other(func(e *claim.Evidence) {
		e.Seatings = seatings(func(f float64) float64 { return fall(f) - 12*math.Exp(-math.Pow(math.Log2(f/3000)/0.02, 2)) })
	})
	wideNotch := other(func(e *claim.Evidence) {
		e.Seatings = seatings(func(f float64) float64 { return fall(f) - 12*math.Exp(-math.Pow(math.Log2(f/3000)/0.2, 2)) })
	})
	noImpedance := other(func(e *claim.Evidence) { e.Impedance = nil })
	vague := other(func(e *claim.Evidence) {
		e.Sensitivity[0].Uncertainty = math.NaN()
		e.Loudest[0].Uncertainty = math.NaN()
	})
	unlevelled := other(func(e *claim.Evidence) { e.THD = e.THD[:1]; e.THD[0].Level = math.NaN() })
	const met, not, cannot = claim.Met, claim.NotMet, claim.CannotTell

	for name, row := range map[string]struct {
		claim   claim.Claim
		given   claim.Evidence
		outcome claim.Outcome
		cause   claim.Cause
		value   float64 // measured
		reason  string
	}{
		// Frequency ranges.
		"50 Hz–14 kHz, −3 dB re 1 kHz":        {claim.FrequencyRange{Band: hz(50, 14000), Down: 3, Reference: at1k}, usual, met, claim.Measured, fall(50) - fall(1000), "the level at 50 Hz re the level at 1 kHz is"},
		"30 Hz–14 kHz, −3 dB re 1 kHz":        {claim.FrequencyRange{Band: hz(30, 14000), Down: 3, Reference: at1k}, usual, not, claim.Measured, fall(30) - fall(1000), "outside -3 dB"},
		"11 Hz–18 kHz, −10 dB re 1 kHz":       {claim.FrequencyRange{Band: hz(11, 18000), Down: 10, Reference: at1k}, usual, not, claim.Measured, fall(11) - fall(1000), "the level at 11 Hz"},
		"15 Hz–18 kHz, −10 dB re 1 kHz":       {claim.FrequencyRange{Band: hz(15, 18000), Down: 10, Reference: at1k}, usual, met, claim.Measured, fall(15) - fall(1000), "within -10 dB"},
		"40.5 Hz–14 kHz, −3 dB re 1 kHz":      {claim.FrequencyRange{Band: hz(40.5, 14000), Down: 3, Reference: at1k}, usual, cannot, claim.TooNearTheLimit, fall(40.5) - fall(1000), "too near -3 dB"},
		"50 Hz–14 kHz, ±3 dB re 200 Hz–2 kHz": {claim.FrequencyRange{Band: hz(50, 14000), Down: 3, Up: 3, Reference: claim.Reference{Over: hz(200, 2000)}}, usual, met, claim.Measured, math.NaN(), "within -3 to +3 dB"},
		"20 Hz–20 kHz":                        {claim.FrequencyRange{Band: hz(20, 20000)}, usual, cannot, claim.NoLimitStated, fall(20) - fall(1000), "does not say by how many dB"},
		"50 Hz–14 kHz, −3 dB":                 {claim.FrequencyRange{Band: hz(50, 14000), Down: 3}, usual, cannot, claim.NoReferenceStated, fall(50) - fall(1000), "does not say what its level is relative to"},
		"50 Hz–22 kHz, −10 dB re 1 kHz":       {claim.FrequencyRange{Band: hz(50, 22000), Down: 10, Reference: at1k}, usual, cannot, claim.MicrophoneEnds, fall(20000) - fall(1000), "the microphone is known up to 20 kHz, so 20 kHz–22 kHz cannot be decided; the known part meets the claim"},
		"50 Hz–40 kHz, −10 dB re 1 kHz":       {claim.FrequencyRange{Band: hz(50, 40000), Down: 10, Reference: at1k}, noMic, cannot, claim.SampleRateEnds, fall(20000) - fall(1000), "a sample rate of 48 kHz ends at 24 kHz"},
		"5 Hz–40 kHz, −10 dB re 1 kHz":        {claim.FrequencyRange{Band: hz(5, 40000), Down: 10, Reference: at1k}, usual, not, claim.Measured, fall(10) - fall(1000), "the level at 10 Hz"},
		"50 Hz–22 kHz, no word of the mic":    {claim.FrequencyRange{Band: hz(50, 22000), Down: 10, Reference: at1k}, silent, cannot, claim.ResponseEnds, fall(20000) - fall(1000), "the response is not known over"},
		"re the level at 25 kHz":              {claim.FrequencyRange{Band: hz(50, 14000), Down: 3, Reference: claim.Reference{At: 25000}}, usual, cannot, claim.ResponseEnds, math.NaN(), "the level at 25 kHz is not known"},
		"a range, measured once":              {claim.FrequencyRange{Band: hz(50, 14000), Down: 3, Reference: at1k}, once, cannot, claim.NotSure, math.NaN(), "its uncertainty is not known"},
		"a range with a narrow notch in it":   {claim.FrequencyRange{Band: hz(50, 14000), Down: 3, Reference: at1k}, notch, met, claim.Measured, math.NaN(), "within -3 dB"},
		"a range with a wide notch in it":     {claim.FrequencyRange{Band: hz(50, 14000), Down: 3, Reference: at1k}, wideNotch, not, claim.Measured, fall(3000) - fall(1000) - 12, "outside -3 dB"},
		"a range, nothing measured":           {claim.FrequencyRange{Band: hz(50, 14000), Down: 3, Reference: at1k}, nothing, cannot, claim.NotMeasured, math.NaN(), "the response was not measured"},

		// Distortion.
		"THD ≤ 0.2 % at 1 kHz, 94 dB":      {claim.Distortion{At: 1000, Level: 94, Percent: 0.2}, usual, met, claim.Measured, 0.12, "within at most 0.2 %"},
		"THD ≤ 0.1 % at 1 kHz, 94 dB":      {claim.Distortion{At: 1000, Level: 94, Percent: 0.1}, usual, not, claim.Measured, 0.12, "outside at most 0.1 %"},
		"THD ≤ 0.12 % at 1 kHz, 94 dB":     {claim.Distortion{At: 1000, Level: 94, Percent: 0.12}, usual, cannot, claim.TooNearTheLimit, 0.12, "too near"},
		"THD ≤ 0.2 % of total at 1 kHz":    {claim.Distortion{At: 1000, Level: 94, Percent: 0.2, Relative: distortion.THDR}, usual, met, claim.Measured, 0.12, "within"},
		"THD ≤ 0.1 % at 3 kHz, 94 dB":      {claim.Distortion{At: 3000, Level: 94, Percent: 0.1}, usual, met, claim.Measured, math.NaN(), "below the floor of this measurement: at most 0.05 %"},
		"THD ≤ 0.01 % at 3 kHz, 94 dB":     {claim.Distortion{At: 3000, Level: 94, Percent: 0.01}, usual, cannot, claim.BelowNoise, math.NaN(), "not low enough to tell"},
		"THD ≤ 0.5 % at 1 kHz, 110 dB":     {claim.Distortion{At: 1000, Level: 110, Percent: 0.5}, usual, cannot, claim.NotAtThatLevel, 0.4, "not measured at 110 dB SPL; nearest to it is 0.4 % at 1 kHz and 104 dB SPL"},
		"THD ≤ 0.2 % at 1 kHz":             {claim.Distortion{At: 1000, Percent: 0.2}, usual, cannot, claim.NoLevelStated, 0.4, "does not say at which level"},
		"THD ≤ 0.2 %":                      {claim.Distortion{Percent: 0.2}, usual, cannot, claim.NoFrequencyStated, 0.9, "does not say at which frequency"},
		"THD ≤ 0.2 % at 500 Hz, 94 dB":     {claim.Distortion{At: 500, Level: 94, Percent: 0.2}, usual, cannot, claim.NotAtThatFrequency, math.NaN(), "not measured at 500 Hz"},
		"THD, nothing measured":            {claim.Distortion{At: 1000, Level: 94, Percent: 0.2}, nothing, cannot, claim.NotMeasured, math.NaN(), "distortion was not measured"},
		"THD at 94 dB, measured who knows": {claim.Distortion{At: 1000, Level: 94, Percent: 0.2}, unlevelled, cannot, claim.NotAtThatLevel, 0.12, "a level that is not known"},

		// Maximum level.
		"110 dB SPL at 1 kHz, 1 %":       {claim.MaximumLevel{Level: 110, At: 1000, Percent: 1}, usual, met, claim.Measured, 112, "reached was"},
		"110 dB SPL at 100 Hz, 1 %":      {claim.MaximumLevel{Level: 110, At: 100, Percent: 1}, usual, not, claim.Measured, 104, "the distortion limits the pair to"},
		"104.3 dB SPL at 100 Hz, 1 %":    {claim.MaximumLevel{Level: 104.3, At: 100, Percent: 1}, usual, cannot, claim.TooNearTheLimit, 104, "too near the claim"},
		"120 dB SPL at 1 kHz, 1 %":       {claim.MaximumLevel{Level: 120, At: 1000, Percent: 1}, usual, cannot, claim.NotAtThatLevel, 112, "nothing louder was tried"},
		"110 dB SPL at 1 kHz":            {claim.MaximumLevel{Level: 110, At: 1000}, usual, met, claim.Measured, 112, "reached was"},
		"110 dB SPL at 100 Hz":           {claim.MaximumLevel{Level: 110, At: 100}, usual, cannot, claim.NoLimitStated, 104, "does not say with how much distortion"},
		"110 dB SPL":                     {claim.MaximumLevel{Level: 110}, usual, cannot, claim.NoFrequencyStated, 112, "does not say at which frequency"},
		"110 dB SPL at 500 Hz":           {claim.MaximumLevel{Level: 110, At: 500}, usual, cannot, claim.NotAtThatFrequency, math.NaN(), "not measured at 500 Hz"},
		"110 dB SPL, measured vaguely":   {claim.MaximumLevel{Level: 110, At: 1000, Percent: 1}, vague, cannot, claim.NotSure, 112, "its uncertainty is not known"},
		"111.9 dB SPL at 1 kHz":          {claim.MaximumLevel{Level: 111.9, At: 1000}, usual, cannot, claim.TooNearTheLimit, 112, "too near the claim"},
		"110 dB SPL, nothing measured":   {claim.MaximumLevel{Level: 110, At: 1000}, nothing, cannot, claim.NotMeasured, math.NaN(), "was not measured"},
		"110 dB SPL at 1 kHz with 0.5 %": {claim.MaximumLevel{Level: 110, At: 1000, Percent: 0.5}, usual, cannot, claim.TooNearTheLimit, 112, "too near"},

		// Sensitivity: 98 dB SPL/mW in 33 Ω is 98 + 10 lg(1000/33) = 112.8 dB SPL/V.
		"98 dB/mW at 1 kHz ± 2 dB":       {claim.Sensitivity{Value: 98, Unit: claim.PerMilliwatt, At: 1000, Tolerance: 2}, usual, met, claim.Measured, 98, "within 98 ± 2 dB"},
		"102 dB/mW at 1 kHz ± 2 dB":      {claim.Sensitivity{Value: 102, Unit: claim.PerMilliwatt, At: 1000, Tolerance: 2}, usual, not, claim.Measured, 98, "outside 102 ± 2 dB"},
		"113 dB/V at 1 kHz ± 2 dB":       {claim.Sensitivity{Value: 113, Unit: claim.PerVolt, At: 1000, Tolerance: 2}, usual, met, claim.Measured, 98 + 10*math.Log10(1000./33), "dB SPL/V"},
		"113 dB/V, no impedance":         {claim.Sensitivity{Value: 113, Unit: claim.PerVolt, At: 1000, Tolerance: 2}, noImpedance, cannot, claim.NotMeasured, 98, "without the impedance"},
		"98 dB":                          {claim.Sensitivity{Value: 98}, usual, cannot, claim.NoReferenceStated, 98, "a milliwatt or a volt"},
		"99 dB/mW, no tolerance":         {claim.Sensitivity{Value: 99, Unit: claim.PerMilliwatt}, usual, met, claim.Measured, 98, "the claim states no frequency, and 1 kHz was taken; the claim states no tolerance, and ±3 dB were taken"},
		"100 dB/mW ± 2 dB":               {claim.Sensitivity{Value: 100, Unit: claim.PerMilliwatt, Tolerance: 2}, usual, cannot, claim.TooNearTheLimit, 98, "too near"},
		"98 dB/mW at 500 Hz":             {claim.Sensitivity{Value: 98, Unit: claim.PerMilliwatt, At: 500}, usual, cannot, claim.NotAtThatFrequency, math.NaN(), "not measured at 500 Hz"},
		"98 dB/mW, measured vaguely":     {claim.Sensitivity{Value: 98, Unit: claim.PerMilliwatt, At: 1000}, vague, cannot, claim.NotSure, 98, "its uncertainty is not known"},
		"98 dB/mW, nothing was measured": {claim.Sensitivity{Value: 98, Unit: claim.PerMilliwatt}, nothing, cannot, claim.NotMeasured, math.NaN(), "was not measured"},

		// Impedance.
		"32 Ω":                   {claim.Impedance{Ohms: 32}, usual, met, claim.Measured, 33, "a rated impedance is compared with"},
		"32 Ω at 1 kHz ± 10 %":   {claim.Impedance{Ohms: 32, At: 1000, Tolerance: 10}, usual, met, claim.Measured, 33, "within 32 Ω ± 10 %"},
		"50 Ω at 1 kHz":          {claim.Impedance{Ohms: 50, At: 1000}, usual, not, claim.Measured, 33, "outside 50 Ω ± 20 %"},
		"36 Ω, the lowest is 27": {claim.Impedance{Ohms: 36}, usual, not, claim.Measured, 27, "the lowest impedance, at 3 kHz"},
		"30 Ω at 1 kHz ± 10 %":   {claim.Impedance{Ohms: 30, At: 1000, Tolerance: 10}, usual, cannot, claim.TooNearTheLimit, 33, "too near"},
		"32 Ω at 10 kHz":         {claim.Impedance{Ohms: 32, At: 10000}, usual, cannot, claim.NotAtThatFrequency, math.NaN(), "not measured at 10 kHz"},
		"32 Ω, not measured":     {claim.Impedance{Ohms: 32}, nothing, cannot, claim.NotMeasured, math.NaN(), "was not measured"},

		// Match.
		"match within 1 dB at 1 kHz":           {claim.Match{Within: 1, At: 1000}, usual, met, claim.Measured, 0.6, "within ±1 dB"},
		"match within 0.5 dB at 1 kHz":         {claim.Match{Within: 0.5, At: 1000}, usual, not, claim.Measured, 0.6, "outside ±0.5 dB"},
		"match within 1 dB, 100 Hz–8 kHz":      {claim.Match{Within: 1, Over: hz(100, 8000)}, usual, met, claim.Measured, math.NaN(), "within ±1 dB"},
		"match within 1 dB, 100 Hz–16 kHz":     {claim.Match{Within: 1, Over: hz(100, 16000)}, usual, not, claim.Measured, 2.6, "outside ±1 dB"},
		"match within 1 dB, 100 Hz–8 kHz once": {claim.Match{Within: 1, Over: hz(100, 8000)}, other(func(e *claim.Evidence) { e.Match = e.Match[:1] }), cannot, claim.NotSure, math.NaN(), "its uncertainty"},
		"match within 1 dB":                    {claim.Match{Within: 1}, usual, cannot, claim.NoFrequencyStated, 2.6, "does not say at which frequencies"},
		"match within 4 dB":                    {claim.Match{Within: 4}, usual, met, claim.Measured, 2.6, "within ±4 dB"},
		"match within 0.05 dB":                 {claim.Match{Within: 0.05}, usual, not, claim.Measured, 0.6, "where the sides are closest"},
		"match within 1 dB at 22 kHz":          {claim.Match{Within: 1, At: 22000}, usual, cannot, claim.MicrophoneEnds, math.NaN(), "the microphone is known up to 20 kHz"},
		"match within 4 dB, 1 kHz–22 kHz":      {claim.Match{Within: 4, Over: hz(1000, 22000)}, usual, cannot, claim.MicrophoneEnds, 2.6, "20 kHz–22 kHz cannot be decided"},
		"match, one side only":                 {claim.Match{Within: 1, At: 1000}, nothing, cannot, claim.NotMeasured, math.NaN(), "the two sides were not both measured"},
	} {
		t.Run(name, func(t *testing.T) {
			v, err := claim.Judge(row.claim, row.given)
			require.NoError(t, err)
			assert.Equal(t, row.outcome, v.Outcome, v.Reason)
			assert.Equal(t, row.cause, v.Cause, v.Reason)
			assert.Contains(t, v.Reason, row.reason)
			assert.Equal(t, row.claim.String(), v.Claim)
			if !math.IsNaN(row.value) {
				assert.InDelta(t, row.value, v.Measured.Value, 0.05) // dB; the seatings tilt
			}
			assert.NotContains(t, v.Reason, "%!", "a format")
		})
	}
}

func TestLoudClaimsCarryACaution(t *testing.T) {
	v, err := claim.Judge(claim.MaximumLevel{Level: 120, At: 1000}, evidence())
	require.NoError(t, err)
	assert.Contains(t, v.Warnings[0], "nobody wearing the pair")
}

func TestResponseClaimsSayTheRig(t *testing.T) {
	v, err := claim.Judge(claim.FrequencyRange{Band: response.Band{Low: 50, High: 10000}, Down: 3, Reference: claim.Reference{At: 1000}}, evidence())
	require.NoError(t, err)
	assert.Contains(t, v.Warnings[0], "flat plate")
}

// 98 dB SPL/mW is 5.23 dB more per volt at 300 Ω and 14.95 dB at 32 Ω, from
// P = V²/Z; an impedance known to 1 % moves that by 0.0434 dB.
func TestSensitivityIsConverted(t *testing.T) {
	for z, gain := range map[float64]float64{300: 5.23, 32: 14.95} {
		e := claim.Evidence{
			Sensitivity: []claim.FigureAt{{Frequency: 1000, Figure: plain(98, 0, claim.PerMilliwatt)}},
			Impedance:   []claim.FigureAt{{Frequency: 1000, Figure: plain(z, z/100, "Ω")}},
		}
		v, err := claim.Judge(claim.Sensitivity{Value: 98 + gain, Unit: claim.PerVolt, Tolerance: 1}, e)
		require.NoError(t, err)
		assert.Equal(t, claim.Met, v.Outcome)
		assert.InDelta(t, 98+gain, v.Measured.Value, 0.005) // to the digits published
		assert.InDelta(t, 0.0434, v.Measured.Uncertainty, 1e-4)
		e.Sensitivity[0].Figure = plain(98+gain, 0, claim.PerVolt)
		v, err = claim.Judge(claim.Sensitivity{Value: 98, Unit: claim.PerMilliwatt, Tolerance: 1}, e)
		require.NoError(t, err)
		assert.InDelta(t, 98, v.Measured.Value, 0.005)
	}
}

func TestImpossibleClaims(t *testing.T) {
	for want, c := range map[string]claim.Claim{
		"claim: claim.FrequencyRange: a range of 200 Hz to 20 Hz; give its low end first": claim.FrequencyRange{Band: response.Band{Low: 200, High: 20}},
		"say by how many dB the level may fall":                                           claim.FrequencyRange{Band: response.Band{Low: 20, High: 200}, Down: -3},
		"a distortion of 0 %":                                                             claim.Distortion{At: 1000},
		"a distortion of NaN %":                                                           claim.Distortion{At: 1000, Percent: math.NaN()},
		"a frequency of -1 Hz":                                                            claim.Distortion{At: -1, Percent: 1},
		"a level of 300 dB SPL":                                                           claim.Distortion{At: 1000, Percent: 1, Level: 300},
		"there is no level":                                                               claim.MaximumLevel{At: 1000},
		"a distortion of 100 %":                                                           claim.MaximumLevel{Level: 100, Percent: 100},
		`the unit "dB/W"; the units are`:                                                  claim.Sensitivity{Value: 100, Unit: "dB/W"},
		"there is no value":                                                               claim.Sensitivity{Unit: claim.PerVolt},
		"a tolerance of -1 dB":                                                            claim.Sensitivity{Value: 100, Tolerance: -1},
		"an impedance of 0 Ω":                                                             claim.Impedance{},
		"a tolerance of 100 %":                                                            claim.Impedance{Ohms: 32, Tolerance: 100},
		"a match within 0 dB":                                                             claim.Match{},
		"a band of 200 Hz to 20 Hz; give it":                                              claim.Match{Within: 1, Over: response.Band{Low: 200, High: 20}},
	} {
		_, err := claim.Judge(c, evidence())
		assert.ErrorContains(t, err, want)
	}
	e := evidence()
	e.Seatings[1].Rig = "ear simulator"
	_, err := claim.Judge(claim.FrequencyRange{Band: response.Band{Low: 50, High: 10000}, Down: 3, Reference: claim.Reference{At: 1000}}, e)
	assert.ErrorIs(t, err, response.ErrOtherRig)
}
