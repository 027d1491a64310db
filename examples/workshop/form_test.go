package main

import (
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/workshop/bench"
	"example.com/earnest/examples/workshop/lesson"
)

func TestAnAddressReadsBack(t *testing.T) {
	for n, l := range lesson.All {
		for _, try := range l.Tries {
			there := request{try.Settings(), n + 1}
			u, err := url.Parse(there.address())
			require.NoError(t, err)
			back, refused := readRequest(u.Query())
			assert.Empty(t, refused)
			assert.Equal(t, there, back, "%s: %s", l.Title, try.Label)
		}
	}
}

func TestInvalidSettingsAreNamedAndIgnored(t *testing.T) {
	r, refused := readRequest(url.Values{"level": {"12"}, "noise": {"loud"}, "lesson": {"9"}, "before": {"20"}})
	assert.Equal(t, []string{
		`level: "12" cannot be set; give a number from -60 to 0`,
		`noise: "loud" cannot be set; give a number from -100 to -20, or none`,
		`lesson "9" does not exist; choose 1 to 8`,
	}, refused)
	want := bench.Default()
	want.Before = 20
	assert.Equal(t, request{want, 1}, r)
}

// The form has every quantity once with its current value selected, even if that is not in the
// list.
func TestTheFormShowsTheSettings(t *testing.T) {
	s := bench.Default()
	s.Level = -13.5
	seen := map[string]string{}
	for _, g := range form(s) {
		for _, c := range g.Controls {
			for _, o := range c.Options {
				if o.Selected {
					assert.NotContains(t, seen, c.Name, "one choice alone")
					seen[c.Name] = o.Value
				}
			}
		}
	}
	assert.Len(t, seen, len(bench.Quantities))
	assert.Equal(t, "-13.5", seen["level"])
	assert.Equal(t, "none", seen["reflection"])
}
