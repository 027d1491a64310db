package report

import (
	"os"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// row is a line of a table of the glossary.
type row struct{ term, meaning, unit string }

func (r row) String() string { return "| " + r.term + " | " + r.meaning + " | " + r.unit + " |" }

// glossaryRows returns the rows of the review's glossary, without the table heads.
func glossaryRows(t *testing.T) map[string]row {
	t.Helper()
	text, err := os.ReadFile("../review/glossary.md")
	require.NoError(t, err)
	rows := map[string]row{}
	for _, line := range strings.Split(string(text), "\n") {
		cells := strings.Split(line, "|")
		if len(cells) != 5 || strings.Contains(line, "| term |") || strings.Contains(line, "---") {
			continue
		}
		r := row{strings.TrimSpace(cells[1]), strings.TrimSpace(cells[2]), strings.TrimSpace(cells[3])}
		require.NotContains(t, rows, r.term, "a term stands once")
		rows[r.term] = r
	}
	require.NotEmpty(t, rows)
	return rows
}

// inGlossary is how the glossary has a definition: the first sentence, as a phrase.
func inGlossary(d definition) row {
	meaning, _, _ := strings.Cut(d.Meaning, ". ")
	first, size := utf8.DecodeRuneInString(meaning)
	unit := d.Unit
	if d.Reference != "" {
		unit += " re " + d.Reference
	}
	return row{d.Term, string(unicode.ToLower(first)) + strings.TrimSuffix(meaning[size:], "."), unit}
}

// The glossary defines the page's terms in the page's words, and has no second definition of them
// under another name.
func TestGlossaryHasTheDefinitions(t *testing.T) {
	rows := glossaryRows(t)
	for _, d := range english.Definitions {
		want := inGlossary(d)
		assert.Equal(t, want, rows[d.Term], "glossary.md has to have the line\n%v", want)
		delete(rows, d.Term)
	}
	for _, own := range rows {
		assert.NotEmpty(t, own.meaning, own.term)
		for _, name := range strings.Split(own.term, ", ") {
			for _, d := range english.Definitions {
				assert.False(t, strings.EqualFold(d.Term, name), "%q is defined by the report", own.term)
			}
			assert.NotEqual(t, name, english.mentions.FindString(name), "%q is what the report's sentences call something that it defines", own.term)
		}
	}
}
