package response_test

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/iotest"

	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// arriving holds the ways in which the bytes of a text can arrive.
var arriving = map[string]func(io.Reader) io.Reader{
	"at once":                     func(r io.Reader) io.Reader { return r },
	"one by one":                  iotest.OneByteReader,
	"with their end":              iotest.DataErrReader,
	"one by one, and the end":     func(r io.Reader) io.Reader { return iotest.DataErrReader(iotest.OneByteReader(r)) },
	"by halves of the free range": iotest.HalfReader,
}

// A line number is that of an editor, for all line endings and ways of arriving.
func TestLinesAreCountedAsAnEditorCountsThem(t *testing.T) {
	for how, reader := range arriving {
		for _, end := range []string{"\n", "\r", "\r\n"} {
			text := strings.Join([]string{"", "# five lines", "20 1", "", "30 loud"}, end)
			_, err := response.ReadCurve(reader(strings.NewReader(text)), "x.txt")
			assert.ErrorContains(t, err, "x.txt: line 5: ", "%q, %s", end, how)
		}
	}
}

func TestTextOfManyLinesIsRead(t *testing.T) {
	for how, reader := range arriving {
		for _, end := range []string{"\n", "\r", "\r\n"} {
			var text strings.Builder
			for i := range 2000 {
				fmt.Fprintf(&text, "%d %d%s", i+1, i%7, end)
			}
			c, err := response.ReadCurve(reader(strings.NewReader(text.String())), "x.txt")
			require.NoError(t, err, "%q, %s", end, how)
			assert.Len(t, c.Level, 2000, "%q, %s", end, how)
		}
	}
}

func TestLineMayBe4096BytesLong(t *testing.T) {
	race.Skip(t)
	for length, fits := range map[int]bool{4095: true, 4096: true, 4097: false} {
		for how, reader := range arriving {
			text := "#" + strings.Repeat("x", length-1) + "\r\n20 1\r\n30 2\r\n"
			_, err := response.ReadCurve(reader(strings.NewReader(text)), "x.txt")
			if fits {
				assert.NoError(t, err, "%d bytes, %s", length, how)
			} else {
				assert.ErrorContains(t, err, "line 1: the line is longer than 4096 characters", how)
			}
		}
	}
}

func TestRigMayBe1024BytesLong(t *testing.T) {
	c := slope(t, []float64{100, 1000}, 0, 0)
	c.Rig = strings.Repeat("x", 1024)
	var text bytes.Buffer
	require.NoError(t, response.WriteCurve(&text, c, nil))
	back, err := response.ReadCurve(&text, "x.txt")
	require.NoError(t, err)
	assert.Equal(t, c.Rig, back.Rig)
	c.Rig += "x"
	assert.ErrorContains(t, response.WriteCurve(io.Discard, c, nil), "rig is longer than 1024 characters")
}

// The size of a curve's text is bounded, whatever its lines.
func TestReadCurveTakesSixteenMebibytes(t *testing.T) {
	race.Skip(t)
	text := strings.Repeat("# a comment\n", 16<<20/12) + "20, 1\n20000, 2\n"
	_, err := response.ReadCurve(strings.NewReader(text), "long.txt")
	require.ErrorContains(t, err, "more than 16 MiB of text; a curve is some hundred lines; name its file")
	_, err = response.ReadCurve(strings.NewReader(text[len(text)/2:]), "shorter.txt")
	require.NoError(t, err)
}
