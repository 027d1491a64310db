package report

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What a spreadsheet would run is written as text, and one apostrophe taken away gives it back.
func TestNoCellIsAFormula(t *testing.T) {
	for _, text := range []string{"=1+1", "+1", "-1", "@sum", "\t=1", "'quoted", "first", "", "two = words", "second, \"tight\""} {
		var file bytes.Buffer
		out := csv.NewWriter(&file)
		require.NoError(t, out.Write([]string{cell(text), "1"}))
		out.Flush()
		read, err := csv.NewReader(&file).Read()
		require.NoError(t, err)
		assert.NotContains(t, "=+-@", string((read[0] + "x")[0]), "%q", text)
		assert.Equal(t, text, strings.TrimPrefix(read[0], "'"))
	}
}

func TestNamesCannotTurnTheText(t *testing.T) {
	assert.Equal(t, "Wren\n\tgnp", strings.Map(printable, "Wr\u202een\n\t\u2066gnp\u0007\u200f"))
	assert.Equal(t, "Ωμέγα – ‘Wren’", strings.Map(printable, "Ωμέγα – ‘Wren’"))
}
