package columns

import (
	"fmt"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Lines as people write them, and their columns by hand.
func TestColumnsOfALine(t *testing.T) {
	for _, c := range []struct {
		line      string
		separator Separator
		columns   []string
	}{
		{"20 -3.5", ' ', []string{"20", "-3.5"}},
		{"20   -3,5  90", ' ', []string{"20", "-3,5", "90"}},
		{"20,-3.5", ',', []string{"20", "-3.5"}},
		{"20, -3.5", ',', []string{"20", "-3.5"}},
		{"20;-3,5;", ';', []string{"20", "-3,5"}},
		{"\"20\"\t\"-3,5\"", '\t', []string{"20", "-3,5"}},
		{"20,5", ',', []string{"20", "5"}},
	} {
		s := SeparatorOf(c.line)
		assert.Equal(t, c.separator, s, c.line)
		assert.Equal(t, c.columns, s.Split(c.line), c.line)
	}
}

func TestComment(t *testing.T) {
	for _, line := range []string{"# rig: plate", ";rig: plate", "* rig: plate", "// rig: plate"} {
		words, is := Comment(line)
		assert.True(t, is, line)
		assert.Equal(t, "rig: plate", words, line)
	}
	_, is := Comment("20;-3")
	assert.False(t, is)
}

func TestNumberInAColumn(t *testing.T) {
	for text, want := range map[string]float64{"-3,5": -3.5, "−3.5": -3.5, "2e4": 2e4, "+1": 1} {
		v, err := Separator(';').Number(text)
		assert.NoError(t, err)
		assert.Equal(t, want, v, text)
	}
	for _, text := range []string{"", "1,5", "0x10", "inf", "NaN", "1_000", "1.000,5"} {
		_, err := Separator(',').Number(text)
		assert.ErrorIs(t, err, strconv.ErrSyntax, text)
	}
	_, err := Number("1e999", true)
	assert.ErrorIs(t, err, strconv.ErrRange)
}

func Example() {
	line := "1000;-3,5"
	s := SeparatorOf(line)
	for _, column := range s.Split(line) {
		v, _ := s.Number(column)
		fmt.Println(v)
	}
	// Output:
	// 1000
	// -3.5
}
