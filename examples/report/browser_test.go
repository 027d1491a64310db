package report_test

import (
	"bytes"
	_ "embed"
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	pdf "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/browser"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
)

// The functions with which the tests look at the page: crowded, faint, hidden.
//
//go:embed look_test.js
var look string

// see evaluates an expression that may use the functions of look_test.js.
func see[T any](v *browser.Visitor, expression string) T {
	v.Helper()
	return browser.See[T](v, "(() => { "+look+"\n return "+expression+"; })()")
}

func TestPageInABrowser(t *testing.T) {
	race.Skip(t)
	v := browser.Visit(t)
	address := "file://" + page(t, "whole", all())
	for _, part := range []struct {
		name string
		test func(t *testing.T, v *browser.Visitor)
	}{
		{"fits three widths", fits},
		{"contrast as WCAG 2.2 asks", contrasts},
		{"curves are shown and hidden", toggles},
		{"values are read", reads},
		{"zoomed and marked", zooms},
		{"definitions are one click away, and back", defines},
		{"definitions on focus, at the pointer and at a tap", explains},
		{"everything by keyboard", tabs},
		{"on paper", prints},
		{"without motion", stands},
		{"soon read", func(t *testing.T, v *browser.Visitor) { soonRead(t, v, 16000) }},
	} {
		t.Run(part.name, func(t *testing.T) {
			v.Medium("screen", "prefers-color-scheme", "light")
			v.Wide(1280)
			v.Open("about:blank")
			v.Open(address)
			part.test(t, v)
		})
	}
	assert.Empty(t, v.Said(), "nothing on the console")
	for _, asked := range v.Asked() {
		if strings.HasPrefix(asked, "data:") {
			continue // the browser's own pictures on the buttons of a player
		}
		assert.Contains(t, []string{address, "about:blank"}, asked, "the file alone")
	}
	t.Run("in German", func(t *testing.T) {
		v.Medium("screen", "prefers-color-scheme", "light")
		v.Open(strings.TrimSuffix(address, ".html") + "-de.html")
		fits(t, v)
		soonRead(t, v, 16500) // its words are longer
	})
	t.Run("without script", func(t *testing.T) {
		v.Script(false)
		v.Open(address)
		complete(t, v)
	})
}

// fits: a telephone, a tablet, a desk.
func fits(t *testing.T, v *browser.Visitor) {
	for _, width := range []int64{360, 768, 1280} {
		v.Wide(width)
		assert.LessOrEqual(t, see[int64](v, "document.documentElement.scrollWidth"), width, "nothing sticks out at %d", width)
		assert.Empty(t, see[[]string](v, "crowded()"), "words in plots have room at %d", width)
	}
}

func contrasts(t *testing.T, v *browser.Visitor) {
	assert.InDelta(t, 21, see[float64](v, `contrast([0, 0, 0], [255, 255, 255])`), 1e-9, "black on white, by definition")
	assert.InDelta(t, 4.48, see[float64](v, `contrast([119, 119, 119], [255, 255, 255])`), 0.005, "the well-known near miss (from memory)")
	for _, scheme := range []string{"light", "dark"} {
		v.Medium("screen", "prefers-color-scheme", scheme)
		dark := see[float64](v, `contrast(paper(document.body), [0, 0, 0])`) < 2
		assert.Equal(t, scheme == "dark", dark)
		require.Greater(t, see[int](v, "texts().length"), 500, "there is something to look at")
		assert.Empty(t, see[[]string](v, "faint(4.5, 3)"), "%s: text 4.5:1 (1.4.3), curves 3:1 (1.4.11)", scheme)
	}
}

// drawn reports whether a curve of a plot is visible.
func drawn(v *browser.Visitor, plot string, curve int) bool {
	return see[bool](v, fmt.Sprintf(`document.querySelector('#%s svg [data-curve="%d"]').getClientRects().length > 0`, plot, curve))
}

func toggles(t *testing.T, v *browser.Visitor) {
	assert.Zero(t, see[int](v, `[...document.querySelectorAll(".plot-legend input")].filter(e => e.hidden || e.disabled || !e.checked).length`))
	assert.True(t, drawn(v, "response", 1))
	v.Do(chromedp.Click(chromedp.CSS(`#response-legend li[data-curve="1"] label`)))
	assert.False(t, drawn(v, "response", 1), "hidden by the mouse")
	assert.True(t, drawn(v, "response", 0), "the others stay")
	assert.True(t, drawn(v, "response-linear", 1), "and so do other plots")
	v.Do(chromedp.Focus(chromedp.CSS(`#response-legend li[data-curve="1"] input`)))
	v.Press(" ")
	assert.True(t, drawn(v, "response", 1), "shown by the keyboard")

	v.Do(chromedp.Focus(chromedp.CSS(".switched > input")))
	v.Press(" ")
	assert.True(t, see[bool](v, `[...document.querySelectorAll(".switched > input")].length > 1 && [...document.querySelectorAll(".switched > input")].every(e => e.checked)`), "distortion is in % everywhere")
	assert.True(t, drawn(v, "distortion-left-percent", 0))
}

func reads(t *testing.T, v *browser.Visitor) {
	v.Point("#response .plot-cursor", 0.5, 0.5)
	// The middle of 20 Hz to 20 kHz on a logarithmic axis is their geometric mean, 632 Hz.
	assert.Regexp(t, `^At 6[23]\d Hz$`, v.Text("#response .plot-where"))
	assert.Regexp(t, `^−?\d+\.\d+ dB$`, normal(v.Text(`#response-legend li[data-curve="0"] .plot-value span`)))
	assert.Regexp(t, `^−?\d+\.\d+ to −?\d+\.\d+$`, v.Text(`#response-legend li[data-curve="0"] .plot-sure`))
	v.Do(chromedp.Click(chromedp.CSS(`#response-legend li[data-curve="0"] label`)))
	v.Point("#response .plot-cursor", 0.4, 0.5)
	assert.Empty(t, v.Text(`#response-legend li[data-curve="0"] .plot-value`), "what is hidden is not read")

	v.Do(chromedp.Focus(chromedp.CSS("#impulse .plot-cursor")))
	before := v.Text("#impulse .plot-where")
	v.Press(kb.ArrowRight)
	after := v.Text("#impulse .plot-where")
	assert.NotEqual(t, before, after)
	assert.Equal(t, after, "At "+see[string](v, `document.activeElement.getAttribute("aria-valuetext")`), "a screen reader hears the same")
	v.Press(kb.Home)
	assert.Equal(t, "At −1.00 ms", normal(v.Text("#impulse .plot-where")))
	v.Press(kb.Escape)
	assert.Empty(t, v.Text("#impulse .plot-where"))
}

// zooms drags over a plot, and does the same by the keyboard; marks are typed.
func zooms(t *testing.T, v *browser.Visitor) {
	labels := func() string {
		return see[string](v, `[...document.querySelectorAll("#response .plot-xticks text")].filter(visible).map(e => e.textContent).join(" ")`)
	}
	const whole = "20 50 100 200 500 1k 2k 5k 10k 20k"
	require.Equal(t, whole, labels())
	v.Point("#response .plot-cursor", 0.5, 0.5)
	box := see[[]float64](v, `(b => [b.left, b.top, b.width, b.height])(document.querySelector("#response .plot-cursor").getBoundingClientRect())`)
	at := func(kind input.DispatchMouseEventType, across float64) chromedp.Action[chromedp.Void] {
		return chromedp.MouseEvent(kind, box[0]+across*box[2], box[1]+0.5*box[3], chromedp.ButtonType(input.MouseButtonLeft))
	}
	v.Do(at(input.DispatchMouseEventTypeMousePressed, 1.0/3), at(input.DispatchMouseEventTypeMouseMoved, 0.5),
		at(input.DispatchMouseEventTypeMouseReleased, 2.0/3))
	// A third and two thirds of three decades from 20 Hz are 200 Hz and 2 kHz.
	assert.Regexp(t, `^(200 )?300 400 500 700 1k 1.5k( 2k)?$`, labels())
	v.Point("#response .plot-cursor", 0.5, 0.5)
	assert.Regexp(t, `^At 6[123]\d Hz$`, v.Text("#response .plot-where"), "the middle stays the middle")
	v.Do(chromedp.Focus(chromedp.CSS("#response .plot-cursor")))
	v.Press("0")
	assert.Equal(t, whole, labels())
	v.Press("+")
	assert.NotEqual(t, whole, labels())
	v.Press(kb.End)
	assert.Contains(t, labels(), "10k", "what is read is shown")
	v.Press("-")
	assert.Equal(t, whole, labels())

	v.Do(chromedp.Focus(chromedp.CSS("#response .plot-tools summary")))
	v.Press(kb.Enter)
	for range 4 { // three buttons before it
		v.Press(kb.Tab)
	}
	for _, key := range "1k 3.5k" {
		v.Press(string(key))
	}
	assert.Equal(t, "1k 3.5k", see[string](v, `[...document.querySelectorAll("#response .plot-marks text")].map(e => e.textContent).join(" ")`))
	assert.Regexp(t, `^At (9[89]\d Hz|1(.01)? kHz)$`, normal(v.Text("#response .plot-where")), "read at the nearest point")
}

// normal writes a space that does not break as a space.
func normal(text string) string {
	out := []rune(text)
	for i, r := range out {
		if r == '\u00a0' {
			out[i] = ' '
		}
	}
	return string(out)
}

func defines(t *testing.T, v *browser.Visitor) {
	assert.Empty(t, see[[]string](v, `[...document.querySelectorAll(".definitions dt")].filter(e => e.nextElementSibling.textContent.length < 60 || !e.nextElementSibling.textContent.includes("Source: ")).map(e => e.id)`))
	assert.Zero(t, see[int](v, `[...document.querySelectorAll("table th a, .answer a, .reasons a, .plot-note a")].filter(e => !document.querySelector(".definitions dt[id='" + e.hash.slice(1) + "']")).length`))
	assert.Empty(t, see[[]string](v, "unexplained()"), "every plot, or an earlier one in its section, links to the definition of its quantity")
	assert.Empty(t, see[[]string](v, `[...document.querySelectorAll(".answer > p:not(.warning), .reasons li")].filter(e => /\d/.test(e.textContent) && !e.querySelector("a.term")).map(e => e.textContent)`), "so does every sentence with a figure")
	arrived := func(id string) bool { return see[bool](v, fmt.Sprintf("arrived(%q)", id)) }

	first := see[string](v, `document.querySelector(".answer a.term").id`)
	v.Do(chromedp.Click(chromedp.CSS("#" + first)))
	assert.True(t, arrived("what-rms"), "by the mouse")
	v.Press(kb.Tab)
	assert.Equal(t, "Back to: The answer", see[string](v, "document.activeElement.ariaLabel"))
	v.Press(kb.Enter)
	assert.True(t, arrived(first), "and back by the keyboard")

	label := see[string](v, `document.querySelector("#distortion-left .plot-note a[href='#what-floor']").id`)
	v.Do(chromedp.Focus(chromedp.CSS("#" + label)))
	v.Press(kb.Enter)
	assert.True(t, arrived("what-floor"))
}

// explains checks the definition that a term shows when it is pointed at.
func explains(t *testing.T, v *browser.Visitor) {
	const first, meaning = ".answer a.term", "root of the mean squared"
	settled := func(hidden bool) string {
		return see[string](v, fmt.Sprintf(`new Promise(done => { const e = document.getElementById("definition"), until = performance.now() + 2000;
			const look = () => e.hidden === %t || performance.now() > until ? done(e.hidden ? "" : e.textContent) : setTimeout(look, 10); look(); })`, hidden))
	}
	v.Press(kb.Tab) // somebody with a keyboard
	v.Do(chromedp.Focus(chromedp.CSS(first)))
	assert.Contains(t, settled(false), meaning)
	assert.Equal(t, "definition", see[string](v, `document.activeElement.getAttribute("aria-describedby")`), "a screen reader hears it")
	assert.True(t, see[bool](v, `(b => b.left >= 0 && b.right <= innerWidth && b.top >= 0 && b.bottom <= innerHeight)(document.getElementById("definition").getBoundingClientRect())`))
	v.Press(kb.Escape)
	assert.Empty(t, settled(true))
	v.Press(kb.Tab)
	assert.NotContains(t, settled(false), meaning, "the next term")
	v.Do(chromedp.Blur(chromedp.CSS("a:focus")))
	assert.Empty(t, settled(true))

	v.Point(first, 0.5, 0.5)
	assert.Contains(t, settled(false), meaning)
	v.Point("#definition", 0.5, 0.9)
	assert.Contains(t, settled(false), meaning, "it stays while it is pointed at")
	v.Point("h1", 0.9, 0.5)
	assert.Empty(t, settled(true))

	at := see[[]float64](v, `(b => [b.left + 9, b.top + 9])(document.querySelector(".answer a.term").getClientRects()[0])`)
	tap := func() {
		_, err := chromedp.Call(v.Context, input.DispatchTouchEvent, input.DispatchTouchEventParams{
			Type: input.DispatchTouchEventTypeTouchStart, TouchPoints: []*input.TouchPoint{{X: at[0], Y: at[1]}}})
		require.NoError(t, err)
		_, err = chromedp.Call(v.Context, input.DispatchTouchEvent, input.DispatchTouchEventParams{
			Type: input.DispatchTouchEventTypeTouchEnd, TouchPoints: []*input.TouchPoint{}})
		require.NoError(t, err)
	}
	tap()
	assert.Contains(t, settled(false), meaning)
	assert.Empty(t, see[string](v, "location.hash"), "the first tap goes nowhere")
	tap()
	assert.True(t, see[bool](v, `arrived("what-rms")`), "the second does")
}

// tabs goes through the page with Tab and looks at each stop.
func tabs(t *testing.T, v *browser.Visitor) {
	assert.Empty(t, v.Unnamed(), "what can be focused has a name")
	stops := see[int](v, "watchFocus()")
	require.Greater(t, stops, 100)
	const perPlayer = 6 // buttons of the browser's own within a player
	steps := make([]chromedp.Action[chromedp.Void], stops+perPlayer*see[int](v, `document.querySelectorAll("audio").length`))
	for i := range steps {
		steps[i] = chromedp.KeyEvent(kb.Tab)
	}
	v.Do(steps...)
	assert.Empty(t, see[[]string](v, "unreached()"), "reached, with a focus that is seen")
}

func prints(t *testing.T, v *browser.Visitor) {
	v.Medium("print", "prefers-color-scheme", "dark")
	v.Wide(700) // about the width of A4 less its margins
	assert.Less(t, see[float64](v, `contrast(paper(document.body), [255, 255, 255])`), 1.1, "paper is light")
	assert.Empty(t, see[[]string](v, `[...document.querySelectorAll("nav, .back, .plot-legend input, .plot-hint, .plot-table")].filter(e => e.getClientRects().length).map(e => e.className)`), "no controls on paper")
	assert.Empty(t, see[[]string](v, "hidden()"), "plots are there")
	assert.Empty(t, see[[]string](v, "crowded()"))
	assert.Empty(t, see[[]string](v, "faint(4.5, 3)"))
	assert.LessOrEqual(t, see[int64](v, "document.documentElement.scrollWidth"), int64(700))
}

func stands(t *testing.T, v *browser.Visitor) {
	v.Medium("screen", "prefers-reduced-motion", "reduce")
	assert.Zero(t, see[int](v, `[...document.querySelectorAll("*")].filter(e => { const s = getComputedStyle(e); return s.animationName !== "none" || parseFloat(s.transitionDuration) > 0 || s.scrollBehavior === "smooth"; }).length`))
}

// soonRead: the name, the verdict and the whole response are on the first screen of a desk, where
// the response is large, and of a telephone; the page with its folds closed is no longer than
// a number of pixels on both, and 14 pages of A4. Sections that are folded on a telephone open by the
// keyboard. On a wide screen they are open.
func soonRead(t *testing.T, v *browser.Visitor, longest int64) {
	for _, screen := range []struct {
		wide, tall int64
		least      float64
	}{{390, 844, 200}, {1400, 900, 360}} {
		v.Do(chromedp.EmulateViewport(screen.wide, screen.tall))
		assert.GreaterOrEqual(t, see[float64](v, `(e => e.getBoundingClientRect().height * e.dataset.area.split(",")[3] / e.dataset.size.split(",")[1])(document.querySelector("#response svg"))`), screen.least)
		assert.LessOrEqual(t, see[float64](v, `document.querySelector("#response svg").getBoundingClientRect().bottom`), float64(screen.tall))
		assert.LessOrEqual(t, see[int64](v, "document.documentElement.scrollHeight"), longest)
		folded := see[int](v, `document.querySelectorAll("details.later:not([open])").length`)
		if screen.wide > 1000 {
			assert.Zero(t, folded)
			continue
		}
		assert.Greater(t, folded, 5)
		v.Do(chromedp.Focus(chromedp.CSS("details.later summary")))
		v.Press(kb.Enter)
		assert.True(t, see[bool](v, `document.querySelector("#response-linear svg").getClientRects().length > 0`))
	}
	v.Medium("")
	paper, err := chromedp.Call(v.Context, pdf.PrintToPDF, pdf.PrintToPDFParams{PaperWidth: 8.27, PaperHeight: 11.69})
	require.NoError(t, err)
	pages := bytes.Count(paper.Data, []byte("/Type /Page\n"))
	assert.Greater(t, pages, 3)
	assert.LessOrEqual(t, pages, 14)
}

// complete: without scripts the page has no dead controls and is otherwise complete.
func complete(t *testing.T, v *browser.Visitor) {
	v.Do(chromedp.WaitVisible(chromedp.CSS("#response svg")))
	for _, id := range []string{"response", "response-linear", "match", "distortion-left", "distortion-right", "impulse", "step", "programme-1", "correction", "impedance", "isolation"} {
		v.Do(chromedp.WaitVisible(chromedp.CSS("#"+id+" .plot-path")), chromedp.WaitVisible(chromedp.CSS("#"+id+" .plot-legend")))
	}
	v.Do(chromedp.WaitNotVisible(chromedp.CSS(".plot-legend input")), chromedp.WaitNotPresent(chromedp.CSS(".plot-cursor")))
	v.Do(chromedp.Click(chromedp.CSS("#response-table summary")), chromedp.WaitVisible(chromedp.CSS("#response-table table")))
	v.Do(chromedp.Click(chromedp.CSS(".answer a.term")), chromedp.WaitVisible(chromedp.CSS("#what-rms")))
}

func TestReducedPagesInABrowser(t *testing.T) {
	long.Skip(t)
	v := browser.Visit(t)
	for _, c := range reduced {
		t.Run(c.name, func(t *testing.T) {
			v.Open("file://" + page(t, c.name, c.change))
			fits(t, v)
			assert.Empty(t, see[[]string](v, "hidden()"))
		})
	}
	assert.Empty(t, v.Said())
}
