package report_test

import (
	"image"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/session"
	"example.com/earnest/internal/testing/browser"
	"example.com/earnest/internal/testing/long"
)

// The reviewer's words are in a section of their own, with the photograph in the page. Content that
// could run code or load something is left out.
func TestReviewersWordsInABrowser(t *testing.T) {
	long.Skip(t)
	v := browser.Visit(t)
	path := page(t, "opinion", func(s *session.Session) {
		all(leftAlone, once, noMusic, noClaims, noTarget, noRivals, noBench, silent)(s)
		photo, err := os.Create(filepath.Join(short, "pads.png"))
		require.NoError(t, err)
		require.NoError(t, png.Encode(photo, image.NewGray(image.Rect(0, 0, 2000, 1000))))
		require.NoError(t, photo.Close())
		s.Notes = session.Notes{Text: "# In short\n\nA **light** pair.", Sound: "Voices are *forward*, by -6 dB. ![The pads](pads.png)",
			Comfort: `<script>document.title = "ran"</script><img src="http://localhost/x"> [link](javascript:document.title='ran')`,
			Price:   "120 crowns <b>net</b>", Availability: "invented"}
	})
	v.Open("file://" + path)
	assert.Equal(t, 1280.0, browser.See[float64](v, `document.querySelector(".opinion img").naturalWidth`), "smaller, and whole")
	assert.Equal(t, "The pads", browser.See[string](v, `document.querySelector(".opinion img").alt`))
	assert.Equal(t, []string{"In short", "Sound", "Comfort"},
		browser.See[[]string](v, `[...document.querySelectorAll(".opinion h3")].map(e => e.textContent)`))
	assert.Equal(t, []string{"120 crowns <b>net</b>", "invented"},
		browser.See[[]string](v, `[...document.querySelectorAll(".opinion dd")].map(e => e.textContent)`))
	assert.Equal(t, 0, browser.See[int](v, `document.querySelectorAll(".opinion script, .opinion a").length`))
	assert.NotEqual(t, "ran", browser.See[string](v, "document.title"))
	assert.Contains(t, v.Text("#opinion + p"), "not a measurement")
	for _, width := range []int64{1280, 390} {
		v.Wide(width)
		assert.LessOrEqual(t, browser.See[int64](v, "document.documentElement.scrollWidth"), width)
	}
	assert.Empty(t, v.Said(), "nothing on the console")
	for _, asked := range v.Asked() {
		assert.True(t, strings.HasPrefix(asked, "file:") || strings.HasPrefix(asked, "data:"), asked)
	}
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	wellMade(t, string(text))
	v.Axe()
}
