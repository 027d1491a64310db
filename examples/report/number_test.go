package report

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/target"
)

func TestNotKnownIsNullAndNeverZero(t *testing.T) {
	data, err := json.Marshal([]Number{0, Number(math.NaN()), Number(math.Inf(1)), -3.25})
	require.NoError(t, err)
	assert.Equal(t, "[0,null,null,-3.25]", string(data))

	var back []Number
	require.NoError(t, json.Unmarshal(data, &back))
	assert.Equal(t, Number(0), back[0])
	assert.True(t, math.IsNaN(float64(back[1])))
	assert.Empty(t, back[1].String(), "an empty field in CSV")
}

// Student's t for 95 % is 4.303 at two degrees of freedom and 1.960 at many
// (JCGM 100:2008, table G.2).
func TestIntervalInWords(t *testing.T) {
	for want, f := range map[string]Figure{
		"1.50 ± 0.43 dB":                  {Value: 1.5, Uncertainty: 0.1, Freedom: 2, Unit: "dB"},
		"1.50 ± 0.20 dB":                  {Value: 1.5, Uncertainty: 0.1, Unit: "dB"},
		"38 Ω":                            {Value: 38, Unit: "Ω"},
		"1.50 dB (uncertainty not known)": {Value: 1.5, Uncertainty: Number(math.NaN()), Unit: "dB"},
		"not known":                       {Value: Number(math.NaN()), Unit: "dB"},
	} {
		assert.Equal(t, want, interval(f))
	}
}

func TestToleranceInWords(t *testing.T) {
	assert.Equal(t, "±3 dB", toleranceWords(target.PlusMinus(3)))
	assert.Equal(t, "+2/−4 dB", toleranceWords(target.Tolerance{Above: target.PlusMinus(2).Above, Below: target.PlusMinus(4).Below}))
}

func TestHoursInWords(t *testing.T) {
	for want, h := range map[string]Number{"40 h": 40, "4.3 h": 4.31, "15 min": 0.25, "not known": Number(math.NaN())} {
		assert.Equal(t, want, hours(h))
	}
}
