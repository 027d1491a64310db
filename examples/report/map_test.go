package report_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/internal/testing/browser"
)

// A map reads out the values that were drawn, to a shade of its scale, and is zoomed like a plot.
func TestMapInABrowser(t *testing.T) {
	v := browser.Visit(t)
	values := [][]float64{{-40, -30, math.NaN(), -17}, {-55, -1, -12, 3}}
	figure, err := plot.Figure(plot.Plot{ID: "map", Title: "A map", Summary: "Two rows of four values.", X: plot.Frequency(100, 1600),
		Y: plot.Axis{Label: "Time", Unit: "ms", Min: 0, Max: 2},
		Raster: &plot.Raster{Values: values, Left: 100, Right: 1600, Bottom: 0, Top: 2, Min: -40, Max: 0,
			Label: "level", Unit: "dB"}})
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "map.html")
	require.NoError(t, os.WriteFile(path, fmt.Appendf(nil, "<!doctype html><meta charset=utf-8><style>%s</style><body>%s<script>%s</script>",
		plot.CSS(), figure, plot.Script(plot.Words{})), 0o600))
	v.Open("file://" + path)
	const cursor, where = "#map .plot-cursor", "#map .plot-where"
	// Four columns of an octave from 100 Hz: their middles are 141, 283, 566 and 1131 Hz. Values
	// beyond the scale are no more, and no less, than its ends.
	for row, says := range [][]string{{"≤ −40 dB", "−30 dB", "not known", "−17 dB"}, {"≤ −40 dB", "−1 dB", "−12 dB", "≥ 0 dB"}} {
		for column, says := range says {
			v.Point(cursor, 0.125+0.25*float64(column), 0.75-0.5*float64(row))
			assert.Equal(t, fmt.Sprintf("At %s, %s: %s", []string{"141 Hz", "283 Hz", "566 Hz", "1.13 kHz"}[column],
				[]string{"0.500 ms", "1.500 ms"}[row], says), normal(v.Text(where)))
		}
	}
	v.Do(chromedp.Focus(chromedp.CSS(cursor)))
	v.Press(kb.Home)
	v.Press(kb.ArrowDown)
	v.Press(kb.ArrowRight)
	assert.Equal(t, "At 283 Hz, 0.500 ms: −30 dB", normal(browser.See[string](v, `document.activeElement.getAttribute("aria-valuetext")`)))
	wide := `document.querySelector("#map image").getBoundingClientRect().width`
	whole := browser.See[float64](v, wide)
	v.Press("+")
	assert.InEpsilon(t, 2*whole, browser.See[float64](v, wide), 1e-3, "by the rounding of the browser")
	v.Point(cursor, 0.5, 0.5)
	assert.Regexp(t, `^At (141|283) Hz, 0.500 ms: `, normal(v.Text(where)), "what is under the pointer in the part that is shown")
	v.Do(chromedp.Focus(chromedp.CSS(cursor)))
	v.Press("0")
	assert.InEpsilon(t, whole, browser.See[float64](v, wide), 1e-3, "the whole again")
	assert.Empty(t, v.Said())
}
