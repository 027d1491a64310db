//go:build !js

package browser

import (
	"os"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Axe checks the current page by the rules of axe-core (npm), in light and dark mode. EARNEST_AXE
// is the path of its axe.min.js; without it the rest of the test is skipped.
func (v *Visitor) Axe() {
	v.Helper()
	path := os.Getenv("EARNEST_AXE")
	if path == "" {
		v.Skip("EARNEST_AXE names no axe.min.js")
	}
	axe, err := os.ReadFile(path)
	require.NoError(v, err)
	require.True(v, See[bool](v, string(axe)+"; typeof axe.run === 'function'"))
	for _, scheme := range []string{"light", "dark"} {
		v.Medium("screen", "prefers-color-scheme", scheme)
		found := See[[]string](v, `axe.run().then(r => r.passes.length < 20 ? ["only " + r.passes.length + " rules passed"] :
			r.violations.map(v => v.id + ": " + v.help + ": " + v.nodes.slice(0, 3).map(n => n.html.slice(0, 120)).join("; ")))`)
		assert.Empty(v, found, scheme)
	}
}
