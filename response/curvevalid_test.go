package response_test

import (
	"strings"
	"testing"

	"example.com/earnest/response"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestValidBandInWords(t *testing.T) {
	for words, want := range map[string]response.Band{
		"20 to 20000 Hz":   {Low: 20, High: 20000},
		"20 to 20000":      {Low: 20, High: 20000},
		"31,5to8e3Hz":      {Low: 31.5, High: 8000},
		"0 to inf Hz":      response.AllFrequencies,
		"nowhere":          {},
		"1e-3 to 0.002 Hz": {Low: 0.001, High: 0.002},
	} {
		c, err := response.ReadCurve(strings.NewReader("# valid: "+words+"\n20 1\n30 1\n"), "x.txt")
		require.NoError(t, err, words)
		assert.Equal(t, want, c.Valid, words)
	}
	for _, words := range []string{
		"", "20", "20 Hz", "to", "low to 20000 Hz", "20 to high Hz", "low to inf Hz", "to inf Hz", "-20 to 20000 Hz", "-20 to inf Hz",
		"20 to 20 Hz", "inf to inf Hz", "20 to 30 to 40 Hz", "20 to 1e999 Hz", "NaN to 20 Hz",
	} {
		_, err := response.ReadCurve(strings.NewReader("# valid: "+words+"\n20 1\n30 1\n"), "x.txt")
		assert.ErrorContains(t, err, "line 1: ", words)
		assert.ErrorContains(t, err, "the valid band is not understood", words)
	}
}
