package opinion

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
)

func plain(text string) string { return text }

// The rest follows the CommonMark specification; code that could run or load something is left out.
func TestHTML(t *testing.T) {
	photos := map[string][]byte{"front.jpg": []byte("jpeg")}
	for words, want := range map[string]string{
		"A *light* pair.":                "<p>A <em>light</em> pair.</p>",
		"# Pads\nIt **clamps**.":         "<h4>Pads</h4> <p>It <strong>clamps</strong>.</p>",
		"- pads\n- cable,\n  two metres": "<ul> <li>pads</li> <li>cable, two metres</li> </ul>",
		"1. first":                       "<ol> <li>first</li> </ol>",
		"> said":                         "<blockquote> <p>said</p> </blockquote>",
		"`a<b>`":                         "<p><code>a&lt;b&gt;</code></p>",
		"2 * 3 * 4":                      "<p>2 * 3 * 4</p>",
		"[a](https://example.org/x?y=1)": `<p><a href="https://example.org/x?y=1" rel="nofollow noreferrer">a</a></p>`,
		"![front](front.jpg)":            `<p><img src="data:image/jpeg;base64,anBlZw==" alt="front"><em>front</em></p>`,
		"![a *stranger*](http://example.org/p.png)":  "<p>a <em>stranger</em></p>",
		"![x](data:image/png;base64,AAAA)":           "<p>x</p>",
		"[x](javascript:alert(1))":                   "<p>x</p>",
		"[x](JaVaScRiPt:alert(1))":                   "<p>x</p>",
		"[x](&#106;avascript:alert(1))":              "<p>x</p>",
		"<javascript:alert(1)>":                      "<p>javascript:alert(1)</p>",
		"[x](data:text/html,<script>)":               "<p>x</p>",
		"[x](other.html)":                            "<p>x</p>",
		"[x](file:///etc/passwd)":                    "<p>x</p>",
		"<script>alert(1)</script>":                  "",
		"a <b onclick=alert(1)>b</b>":                "<p>a b</p>",
		"<iframe src=//example.org></iframe>":        "",
		"<style>body{display:none}</style>":          "",
		"<!-- a comment -->":                         "",
		"[x](https://a.example 'onmouseover=alert')": `<p><a href="https://a.example" rel="nofollow noreferrer">x</a></p>`,
		"![\" onerror=alert(1)](front.jpg)":          `<p><img src="data:image/jpeg;base64,anBlZw==" alt="&#34; onerror=alert(1)"><em>&#34; onerror=alert(1)</em></p>`,
		"":                                           "",
	} {
		got, err := HTML(words, photos, 4, plain)
		require.NoError(t, err)
		assert.Equal(t, want, strings.TrimSpace(strings.ReplaceAll(string(got), "\n", " ")), words)
	}
	got, err := HTML("It is -6 dB, `-6 dB`,\nso there.", nil, 3, strings.ToUpper)
	require.NoError(t, err)
	assert.Equal(t, "<p>IT IS -6 DB, <code>-6 dB</code>,\nSO THERE.</p>\n", string(got), "code stays as it is")
}

func TestPhotos(t *testing.T) {
	assert.Equal(t, []string{"a.jpg", "in a folder/b.png"}, Photos("![](a.jpg) text ![b](<in a folder/b.png>)\n\n- ![](a.jpg)"))
	assert.Empty(t, Photos("`![](a.jpg)` and \\![](b.jpg)"))
}

// Texts that are deep or long are converted before go test gives up, and the page does not swell.
func TestHostileText(t *testing.T) {
	long.Skip(t)
	for name, one := range map[string]string{"brackets": "[", "images": "![](", "quotes": "> ", "emphasis": "*a_", "nested": "[![]("} {
		words := strings.Repeat(one, MaxText/len(one))
		got, err := HTML(words, nil, 3, plain)
		require.NoError(t, err)
		assert.Less(t, len(got), 60*MaxText, name)
	}
}

func TestTextThatIsTooLong(t *testing.T) {
	_, err := HTML(strings.Repeat("a", MaxText+1), nil, 3, plain)
	assert.ErrorContains(t, err, "at most 30000 are allowed")
}

func FuzzHTML(f *testing.F) {
	f.Add("# a\n![x](a.jpg) [b](javascript:x) <script>")
	f.Fuzz(func(t *testing.T, words string) {
		if len(words) > MaxText {
			return
		}
		Photos(words)
		got, err := HTML(words, map[string][]byte{"a.jpg": {1}}, 3, plain)
		require.NoError(t, err)
		low := bytes.ToLower([]byte(got))
		for _, never := range []string{"<script", "<iframe", "<style", "<svg", "href=\"javascript:", "<object", "<form", "src=\"http"} {
			assert.NotContains(t, string(low), never)
		}
	})
}
