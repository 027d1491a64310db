package listening_test

import (
	"bytes"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	cdp "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/report/listening"
	"example.com/earnest/internal/testing/browser"
	"example.com/earnest/response/programme/excerpt"
)

func TestMain(m *testing.M) { os.Exit(browser.Main(m)) }

func noise(seconds float64, seed uint64) []float64 {
	r := rand.New(rand.NewPCG(seed, 1))
	x := make([]float64, int(seconds*48000))
	for i := range x {
		x[i] = 0.1 * r.NormFloat64()
	}
	return x
}

func piece(seconds float64) listening.Piece {
	return listening.Piece{Name: "a tune", SampleRate: 48000, Versions: []excerpt.Version{
		{Name: excerpt.Direct, Samples: noise(seconds, 1)},
		{Name: excerpt.Through, Samples: noise(seconds, 2)},
		{Name: "filtered", Samples: noise(seconds, 3)},
	}, Words: map[string]string{"filtered": "the tonal change alone"}}
}

func write(t *testing.T, pieces ...listening.Piece) (address, text string) {
	var out bytes.Buffer
	require.NoError(t, listening.Write(&out, "Wren", pieces))
	path := filepath.Join(t.TempDir(), "listening.html")
	require.NoError(t, os.WriteFile(path, out.Bytes(), 0o644))
	return "file://" + path, out.String()
}

func TestPageNeedsTwoVersions(t *testing.T) {
	assert.ErrorIs(t, listening.Write(io.Discard, "Wren", nil), listening.ErrNothing)
}

func TestTooMuchSoundIsLeftOutAndNamed(t *testing.T) {
	long := piece(1)
	long.Name = "a long one"
	for i := range long.Versions {
		long.Versions[i].Samples = make([]float64, 20<<20/4)
	}
	_, text := write(t, piece(1), long)
	assert.Contains(t, text, "a long one is left out")
	assert.Less(t, len(text), 20<<20)
}

func TestPageInABrowser(t *testing.T) {
	v := browser.Visit(t)
	address, text := write(t, piece(3))
	assert.NotContains(t, strings.ToLower(text), "http://", "asks for nothing")
	for _, width := range []int64{1300, 390} {
		v.Wide(width)
		v.Open(address)
		assert.Empty(t, v.Unnamed(), "what can be focused has a name")
		assert.Zero(t, browser.See[int](v, "document.documentElement.scrollWidth - innerWidth"), "fits into %d px", width)
	}
	t.Run("binomial", func(t *testing.T) {
		// scipy.stats.binomtest: 12 of 16, p and the exact interval.
		assert.InDelta(t, 0.0384063720703125, browser.See[float64](v, "atLeast(12, 16, 0.5)"), 1e-12, "rounding")
		assert.InDelta(t, 0.4018096923828125, browser.See[float64](v, "atLeast(9, 16, 0.5)"), 1e-12, "rounding")
		low, high := browser.See[float64](v, "interval(12, 16)[0]"), browser.See[float64](v, "interval(12, 16)[1]")
		assert.InDelta(t, 0.4762291801038724, low, 1e-9, "60 halvings")
		assert.InDelta(t, 0.9273379617471178, high, 1e-9, "60 halvings")
		assert.InDelta(t, 0.5218237501049814, browser.See[float64](v, "interval(0, 5)[1]"), 1e-9, "60 halvings")
		assert.InDelta(t, 0.47817624989501856, browser.See[float64](v, "interval(5, 5)[0]"), 1e-9, "60 halvings")
		assert.Contains(t, browser.See[string](v, "outcome(12, 16)"), "12 of 16 were right. By guessing alone, 12 or more of 16 are right in 3.8 % of runs. With 95 % confidence you are right in 48 % to 93 %")
	})
	t.Run("seamless switching, and nothing gives the order away", func(t *testing.T) { v.Listens(address, 3) })
	t.Run("a run by keyboard", func(t *testing.T) {
		states := map[string]bool{}
		for range 12 {
			v.Open(address)
			browser.See[bool](v, `(() => { document.getElementById("trials").value = 5; document.getElementById("start").focus(); return true; })()`)
			v.Press(kb.Enter)
			assert.Equal(t, "Trial 1 of 5", v.Text("#trial"))
			assert.Contains(t, v.Text("#gain"), "40 dB", "begins quietly")
			states[browser.See[string](v, "document.body.innerHTML.length + document.body.innerText")] = true
		}
		assert.Len(t, states, 1, "the page is the same whatever was drawn: 12 runs all drawn alike would be one in 4^11")
		for _, key := range []string{"x", "b", "a", "1", "x", "2", "+", "1", "1", "2"} {
			v.Press(key)
		}
		assert.True(t, browser.See[bool](v, `document.getElementById("run").hidden && !document.getElementById("result").hidden`))
		assert.Contains(t, v.Text("#outcome"), "of 5 were right")
		assert.Contains(t, v.Text("#which"), "direct")
		assert.Contains(t, browser.See[string](v, `document.getElementById("report").value`), "Gain at the end: -38 dB")
	})
	t.Run("without audio", func(t *testing.T) {
		v.Script(false)
		v.Open(address)
		assert.Contains(t, browser.See[string](v, "document.body.innerText"), "needs JavaScript")
		v.Script(true)
		_, err := chromedp.Call(v.Context, cdp.AddScriptToEvaluateOnNewDocument,
			cdp.AddScriptToEvaluateOnNewDocumentParams{Source: "delete window.AudioContext"})
		require.NoError(t, err)
		v.Open(address)
		assert.Equal(t, []bool{false, true}, browser.See[[]bool](v, `["no-sound", "set-up"].map(id => document.getElementById(id).hidden)`))
		assert.Contains(t, browser.See[string](v, "document.body.innerText"), "This browser plays no sound from a page")
		assert.Contains(t, browser.See[string](v, "document.body.innerText"), "What you compare", "the rest is there")
	})
	assert.Empty(t, v.Said(), "nothing on the console")
}
