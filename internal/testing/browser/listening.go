//go:build !js

package browser

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

//go:embed listening.js
var listening string

// Listens checks the page of a blind comparison at an address, whose piece-1 has a number of
// versions. 50 switches between the first and the second and the last version differ from the ideal
// crossfade by less than −60 dBFS, all versions have the same length, and nothing that can be seen
// or timed depends on the draw.
func (v *Visitor) Listens(address string, versions int) {
	v.Helper()
	v.Open(address)
	for _, k := range []int{1, versions - 1} {
		got := See[[]float64](v, fmt.Sprintf(`(() => { %s; return switched("piece-1", 0, %d); })()`, listening, k))
		require.Len(v, got, 2)
		assert.Less(v, 20*math.Log10(got[0]), -60.0, "dBFS: the limit for 50 switches between 0 and %d", k)
		assert.Greater(v, got[1], 0.03, "something is heard")
		v.Logf("versions 0 and %d: %.1f dBFS off the ideal crossfade", k, 20*math.Log10(got[0]))
	}
	lengths := See[[]int](v, `JSON.parse(document.getElementById("piece-1").textContent).versions.map(x => x.samples.length)`)
	require.Len(v, lengths, versions)
	seen := map[string]bool{}
	for _, n := range lengths[1:] {
		assert.Equal(v, lengths[0], n, "the lengths do not reveal the order")
	}
	for _, lots := range [][3]int{{0, 0, 0}, {0, 1, 1}, {1, 0, 1}, {1, 1, 0}} { // the order, then X of two trials
		v.Open(address)
		See[bool](v, fmt.Sprintf("(() => { %s; globalThis.watched = watched; return draw([%d, %d, %d]); })()",
			listening, lots[0], lots[1], lots[2]))
		v.Press(kb.Enter) // a page may sound only once somebody has done something
		got := See[[]json.RawMessage](v, "watched()")
		require.Len(v, got, 3)
		require.Equal(v, "3", string(got[0]), "the order and two trials are drawn by the cryptographic generator")
		require.NotEqual(v, "0", string(got[1]))
		seen[string(got[2])] = true
	}
	assert.Len(v, seen, 1, "the page looks the same for every draw")
}
