package report

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/claim"
	"example.com/earnest/target/review"
)

// What stands after ± in a table, at the ends of the brackets in a reason, and in results.json is
// one interval: 4.303 standard uncertainties of two degrees of freedom on either side, 1.960 of
// many (JCGM 100:2008, table G.2).
func TestTablesReasonsAndResultsStateOneInterval(t *testing.T) {
	few := response.Figure{Value: 1.5, Uncertainty: 0.1, DegreesOfFreedom: 2, Unit: "dB"}
	assert.Equal(t, "1.50 ± 0.43 dB", Interval(few))
	assert.Equal(t, "1.50 dB (95 % confidence: 1.07 to 1.93 dB)", few.WithInterval(confidence))
	assert.InDelta(t, 0.4303, float64(newFigure(few).HalfWidth95), 5e-5, "the table's last digit")
	few.Uncertainty = 0.1 * 1.960 / 4.303
	assert.InDelta(t, 0.1960, float64(newFigure(few).HalfWidth95), 5e-5, "the table's last digit")
	many := response.Figure{Value: 1.5, Uncertainty: 0.1, Unit: "dB"}
	assert.InDelta(t, 0.1960, float64(newFigure(many).HalfWidth95), 5e-5, "the table's last digit")
	assert.InDeltaSlice(t, []float64{0.1960, 0}, halfWidths([]float64{0.1, 0}), 5e-5, "the table's last digit")
	assert.Nil(t, halfWidths(nil), "what is not known stays so")
}

// Warnings that belong beside a verdict stand beside it, on the page and in the results.
func TestWarningsStandBesideTheirVerdicts(t *testing.T) {
	unsure := claim.Verdict{Claim: "maximum level of 120 dB SPL", Outcome: claim.CannotTell, Reason: "nobody tried", Warnings: []string{"levels like this hurt"}}
	j := &review.Judgement{
		Claims:  []claim.Verdict{unsure, {Claim: "impedance of 38 Ω", Outcome: claim.Met, Reason: "it is"}},
		Uses:    []target.Verdict{{Use: "mixing", Warnings: []string{"half of it was judged"}}, {Use: "voice"}},
		Ranking: &target.Ranking{Places: []target.Place{{Name: "Finchale", Best: 1, Worst: 1}}, Warnings: []string{"measured once"}},
	}
	r := document{Claims: newClaims(j), Uses: newUses(j)}
	r.Ranking, r.RankingWarnings = newRanking(j.Ranking)
	assert.Equal(t, []string{"levels like this hurt"}, r.Claims[0].Warnings)
	assert.Equal(t, []string{}, r.Claims[1].Warnings, "[] in JSON, not null")
	assert.Equal(t, []string{"half of it was judged"}, r.Uses[0].Warnings)

	v := &view{R: &review.Results{Judgement: j}, glossary: glossary{language: english, uses: map[string][]glossaryUse{}}}
	v.Contents = []section{{"claims", "Claims"}, {"rivals", "Rivals"}, {"uses", "Uses"}}
	var out strings.Builder
	require.NoError(t, page.Execute(&out, v))
	text := out.String()
	in := func(from, to, warning string) {
		t.Helper()
		_, after, found := strings.Cut(text, from)
		require.True(t, found, from)
		part, _, found := strings.Cut(after, to)
		require.True(t, found, to)
		assert.Contains(t, part, `<p class="warning">`+warning)
		assert.Equal(t, 1, strings.Count(text, warning))
	}
	in("Nobody tried.", "</td>", "Levels like this hurt.")
	in(">Finchale<", "<h2", "Measured once.")
	in("For mixing:", "<h3>For voice:", "Half of it was judged.")
}
