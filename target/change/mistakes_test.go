package change_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/target/change"
)

// at returns a seating of a flat response at a level, with a mass.
func at(condition string, level, mass float64, unit string) change.Seating {
	c := response.Curve{Frequency: response.LogGrid(20, 20000, 12), Rig: "plate", Valid: response.Band{Low: 20, High: 20000}}
	for _, f := range c.Frequency {
		c.Level = append(c.Level, level*math.Cos(3*math.Log(f)+level))
	}
	c.Level[0] = math.NaN() // as every measured response is not known somewhere
	return change.Seating{Condition: condition, Response: c,
		Figures: map[string]response.Figure{"mass": {Value: mass, Uncertainty: 0.1, Unit: unit}}}
}

// Mistakes in a comparison of conditions are named. The masses differ by 20 g with a scatter of a
// gram, which Student's t shows at any usual confidence; the responses do not differ.
func TestMistakesInAComparison(t *testing.T) {
	said := func(seatings []change.Seating, o change.Config) (notes, sentence string) {
		all, err := change.Compare(seatings, o)
		require.NoError(t, err)
		return strings.Join(all[0].Notes, " "), all[0].String()
	}
	a, b := []change.Seating{at("A", 0.3, 250, "g"), at("A", 0.5, 251, "g"), at("A", 0.4, 249, "g")},
		[]change.Seating{at("B", 0.35, 270, "g"), at("B", 0.45, 271, "g"), at("B", 0.55, 269, "g")}
	turns := []change.Seating{a[0], b[0], a[1], b[1], a[2], b[2]}

	notes, sentence := said(turns, change.Config{InTurn: true})
	assert.Empty(t, notes)
	assert.Contains(t, sentence, "No change of the response was found")
	assert.Regexp(t, `Of the figures, mass changed by (19|20)[0-9.]* g \(95 % confidence`, sentence)

	notes, _ = said(append(append([]change.Seating{}, a...), b...), change.Config{InTurn: true})
	assert.Contains(t, notes, "a drift cannot be distinguished from a change")

	twice := append([]change.Seating{}, turns...)
	twice[4] = a[0]
	notes, _ = said(twice, change.Config{Random: true})
	assert.Contains(t, notes, "Seatings 1 and 5 hold the same response")

	mixed := append([]change.Seating{}, turns...)
	mixed[5] = at("B", 0.55, 0.269, "kg")
	_, err := change.Compare(mixed, change.Config{})
	assert.ErrorContains(t, err, `mass is given in "kg" and elsewhere in "g"`)
}
