package report_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/browser"
)

// The rules of axe-core (npm) find no violation. EARNEST_AXE is the path of its axe.min.js; without it the
// test is skipped.
func TestPageByAxe(t *testing.T) {
	path := os.Getenv("EARNEST_AXE")
	if path == "" {
		t.Skip("EARNEST_AXE names no axe.min.js")
	}
	axe, err := os.ReadFile(path)
	require.NoError(t, err)
	v := browser.Visit(t)
	for _, scheme := range []string{"light", "dark"} {
		v.Medium("screen", "prefers-color-scheme", scheme)
		v.Open("file://" + page(t, "whole", all()))
		require.True(t, browser.See[bool](v, string(axe)+"; typeof axe.run === 'function'"))
		found := browser.See[[]string](v, `axe.run().then(r => r.passes.length < 20 ? ["only " + r.passes.length + " rules passed"] :
			r.violations.map(v => v.id + ": " + v.help + ": " + v.nodes.slice(0, 3).map(n => n.html.slice(0, 120)).join("; ")))`)
		assert.Empty(t, found, scheme)
	}
}
