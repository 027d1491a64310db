package report

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// What Markdown makes of it is common knowledge; what is not supported stays as it was written.
func TestMarkdown(t *testing.T) {
	for text, want := range map[string]string{
		"A *light* pair.":                  "<p>A <em>light</em> pair.</p>",
		"## Comfort\nIt **clamps**.":       "<h3>Comfort</h3> <p>It <strong>clamps</strong>.</p>",
		"One.\n\nTwo.":                     "<p>One.</p> <p>Two.</p>",
		"- pads\n- cable,\n  two metres":   "<ul><li>pads</li> <li>cable, two metres</li></ul>",
		"<script>alert(1)</script>":        "<p>&lt;script&gt;alert(1)&lt;/script&gt;</p>",
		"[a](javascript:alert(1)) ![b](c)": "<p>[a](javascript:alert(1)) ![b](c)</p>",
		"2 * 3 * 4 and -6 dB":              "<p>2 * 3 * 4 and −6\u00a0dB</p>",
		"#hashtag":                         "<p>#hashtag</p>",
		"":                                 "",
	} {
		assert.Equal(t, want, strings.TrimSpace(strings.ReplaceAll(string(markdown(text)), "\n", " ")), text)
	}
}
