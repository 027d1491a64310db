package response_test

import (
	"strings"
	"testing"

	"example.com/earnest/response"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A comma at the beginning or end of a word is not a decimal mark, since it may separate. A leading
// point is one, as anywhere else.
func TestImpossibleDecimalMarks(t *testing.T) {
	for text, want := range map[string]string{
		"20\t,5\n30\t1\n": `line 1: "20\t,5": the level ",5" is not a number`,
		"20\t5,\n30\t1\n": `line 1: "20\t5,": the level "5," is not a number`,
		"20 .5\n30 1,5\n": `line 2: "30 1,5": "1,5" has the decimal mark ',', the lines before '.'`,
	} {
		_, err := response.ReadCurve(strings.NewReader(text), "x.txt")
		assert.ErrorContains(t, err, want)
	}
}

func TestThirdColumnAfterCommasIsLeftUnread(t *testing.T) {
	c, err := response.ReadCurve(strings.NewReader("20,-1.5,12\n1000,0.25,-170\n"), "x.txt")
	require.NoError(t, err)
	assert.Equal(t, []float64{-1.5, 0.25}, c.Level)
}
