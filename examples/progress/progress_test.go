package progress

import (
	"bytes"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestBarIsForTerminals(t *testing.T) {
	var screen bytes.Buffer
	none := New(&screen, 3, "sessions")
	assert.Nil(t, none, "no terminal")
	none.Describe("nothing")
	none.Add(1)
	none.Finish()
	assert.Empty(t, screen.String())

	b := draw(&screen, 4, "sessions")
	b.Add(1)
	b.Describe("measuring")
	b.Add(1)
	assert.Regexp(t, regexp.MustCompile(`measuring +50%.*\[.*:.*\]`), screen.String(), "what is done, how much, and how long it takes")
	b.Add(5)
	assert.Equal(t, 2, b.done, "more than there are")
	b.Finish()
}

func TestTimingsAddUp(t *testing.T) {
	var times Timings
	times.End()
	times.Begin("reading")
	x := make([]float64, 1<<20)
	for range 20 {
		for i := range x {
			x[i] += float64(i)
		}
	}
	times.Begin("judging")
	times.End()
	times.End()
	var out bytes.Buffer
	require.NoError(t, times.Print(&out))
	assert.Regexp(t, `(?m)^ *s +processor s +share +MB +step$`, out.String())
	assert.Regexp(t, `(?m)^ *\d+\.\d\d +\d+\.\d\d +\d+ % +\d+ +reading$`, out.String())
	assert.Regexp(t, `(?m)^ *\d+\.\d\d +\d+\.\d\d +\d+ % +all$`, out.String())
	require.Len(t, times.steps, 2)
	assert.Positive(t, times.steps[0].took)
	assert.Greater(t, times.steps[0].memory, uint64(8<<20), "the slice alone takes 8 MB")
}
