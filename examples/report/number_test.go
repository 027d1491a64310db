package report

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/target"
)

func TestNotKnownIsNullAndNeverZero(t *testing.T) {
	data, err := json.Marshal([]number{0, number(math.NaN()), number(math.Inf(1)), -3.25})
	require.NoError(t, err)
	assert.Equal(t, "[0,null,null,-3.25]", string(data))
	assert.Empty(t, number(math.NaN()).String(), "an empty field in CSV")
	assert.Equal(t, "0", number(0).String())
}

// Student's t for 95 % is 4.303 at two degrees of freedom and 1.960 at many
// (JCGM 100:2008, table G.2).
func TestIntervalInWords(t *testing.T) {
	for want, f := range map[string]response.Figure{
		"1.50 ± 0.43 dB":                  {Value: 1.5, Uncertainty: 0.1, DegreesOfFreedom: 2, Unit: "dB"},
		"1.50 ± 0.20 dB":                  {Value: 1.5, Uncertainty: 0.1, Unit: "dB"},
		"38 Ω":                            {Value: 38, Unit: "Ω"},
		"1.50 dB (uncertainty not known)": {Value: 1.5, Uncertainty: math.NaN(), Unit: "dB"},
		"not known":                       {Value: math.NaN(), Unit: "dB"},
	} {
		assert.Equal(t, want, Interval(f))
	}
}

func TestToleranceInWords(t *testing.T) {
	assert.Equal(t, "±3 dB", english.Tolerance(target.PlusMinus(3)))
	assert.Equal(t, "+2/−4 dB", english.Tolerance(target.Tolerance{Above: target.PlusMinus(2).Above, Below: target.PlusMinus(4).Below}))
}

func TestHoursInWords(t *testing.T) {
	for want, h := range map[string]float64{"40 h": 40, "4.3 h": 4.31, "15 min": 0.25, "not known": math.NaN()} {
		assert.Equal(t, want, english.hours(h))
	}
}

func TestNumbersInSentences(t *testing.T) {
	for text, want := range map[string]string{
		"by -4.2 dB, at 3 kHz (-1 dBFS)": "by −4.2\u00a0dB, at 3\u00a0kHz (−1\u00a0dBFS)",
		"0.1 % of 38 Ω in seating-1.wav": "0.1\u00a0% of 38\u00a0Ω in seating-1.wav",
		"the pair's own":                 "the pair’s own",
		"10 minutes, 2 sides, 20-20":     "10 minutes, 2 sides, 20-20",
	} {
		assert.Equal(t, want, typeset(text))
	}
	assert.Equal(t, "It is loud.", Sentence("it is loud"))
	assert.Equal(t, "direct.wav is quiet.", Sentence("direct.wav is quiet."), "the name of a file stays as it is")
	assert.Equal(t, "10<sup>0.3n</sup> H<sub>n</sub> &lt; 1", string(formula("10^(0.3n) H_n < 1")))
}

func TestAFigureNearZeroIsBounded(t *testing.T) {
	assert.Equal(t, "no more than 0.3 dB", english.AtMost(response.Figure{Value: 0.1, Uncertainty: 0.1, Unit: "dB"}))
	assert.Equal(t, "less than this measurement can resolve", english.AtMost(response.Figure{Value: 0, Uncertainty: math.NaN(), Unit: "dB"}))
	assert.Equal(t, "1.00 ± 0.20 dB", english.AtMost(response.Figure{Value: 1, Uncertainty: 0.1, Unit: "dB"}))
}

func TestSentencesLeadToDefinitions(t *testing.T) {
	g := glossary{language: english, uses: map[string][]glossaryUse{}, section: "Here"}
	got := string(g.sentence("It deviates by 1.8 ± 0.2 dB rms; the channel balance (L−R) is 0.6 dB rms & the rms deviation is -1 dB."))
	assert.Equal(t, `It <a class="term" id="from-rms-1" href="#what-rms">deviates by 1.8`+"\u00a0±\u00a00.2\u00a0"+`dB rms</a>; `+
		`the <a class="term" id="from-match-2" href="#what-match">channel balance (L−R)</a> is 0.6`+"\u00a0"+`dB rms &amp; the rms deviation is −1`+"\u00a0dB.", got)
	assert.Equal(t, []glossaryUse{{"Here", "from-rms-1"}}, g.uses["rms"])
	require.Len(t, g.entries(), 2, "those that are used, and no others")
	assert.Panics(t, func() { g.link("none", "none") })
	for _, d := range english.Definitions {
		assert.NotEmpty(t, d.Meaning, d.ID)
		assert.NotEmpty(t, d.Source, d.ID)
		assert.Equal(t, d, english.definition(d.ID), "%s stands once", d.ID)
	}
}
