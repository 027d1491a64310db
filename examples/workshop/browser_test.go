package main

import (
	"fmt"
	"net/http/httptest"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"

	"example.com/earnest/examples/workshop/lesson"
	"example.com/earnest/internal/testing/browser"
	"example.com/earnest/internal/testing/long"
)

func TestMain(m *testing.M) { os.Exit(browser.Main(m)) }

// visitor is somebody with a browser, and a workshop of their own to visit.
type visitor struct {
	*browser.Visitor
	server string
}

func newVisitor(t *testing.T) *visitor {
	v := browser.Visit(t)
	server := httptest.NewServer(newWorkshop())
	t.Cleanup(server.Close)
	return &visitor{v, server.URL}
}

// open loads an address of the workshop.
func (v *visitor) open(address string) {
	v.Helper()
	v.Do(chromedp.Navigate(v.server+address), chromedp.WaitReady(chromedp.CSS("#results .headline")))
}

// see evaluates an expression in the page.
func see[T any](v *visitor, expression string) T {
	v.Helper()
	return browser.See[T](v.Visitor, expression)
}

// wait waits until a condition holds in the page and nothing is being measured.
func (v *visitor) wait(condition string) {
	v.Helper()
	see[bool](v, `new Promise(done => { const look = () => !document.querySelector("[aria-busy]") && (`+condition+`) ? done(true) : setTimeout(look, 10); look(); })`)
}

func TestEachLessonInABrowser(t *testing.T) {
	v := newVisitor(t)
	v.open("/")
	for i, l := range lesson.All {
		v.Do(chromedp.Click(chromedp.CSS(fmt.Sprintf(".contents li:nth-child(%d) a", i+1))))
		v.wait(fmt.Sprintf("document.querySelector('#lesson h3').textContent.startsWith('%d.')", i+1))
		assert.Equal(t, l.Question, v.Text(".question"))
		assert.False(t, see[bool](v, "document.getElementById('answer').open"), "the answer waits until it is asked for")
		for k, try := range l.Tries {
			v.Do(chromedp.Click(chromedp.CSS(fmt.Sprintf(".tries li:nth-child(%d) a", k+1))))
			v.wait(fmt.Sprintf("document.querySelectorAll('.tries a')[%d].ariaCurrent === 'true'", k))
			there := request{try.Settings(), i + 1}
			assert.Equal(t, v.server+there.address(), see[string](v, "location.href"), "it can be kept and sent")
			for _, g := range form(try.Settings()) {
				for _, c := range g.Controls {
					assert.Equal(t, selected(c), see[string](v, fmt.Sprintf("document.getElementById('set-%s').value", c.Name)), "%s: %s", try.Label, c.Name)
				}
			}
			reading := v.Text(".reading")
			assert.Greater(t, len(reading), 60, "%s", try.Label)
			assert.NotContains(t, reading, "NaN")
			assert.Equal(t, 7, see[int](v, "document.querySelectorAll('#lead figure, #results figure').length"), "every picture is there")
			assert.Equal(t, 6, see[int](v, "document.querySelectorAll('#lead .plot-cursor, #results .plot-cursor').length"), "and every plot can be read")
		}
		v.Do(chromedp.Click(chromedp.CSS("#answer summary")))
		assert.True(t, see[bool](v, "document.getElementById('answer').open"))
		assert.Equal(t, l.Answer, v.Text("#answer p"))
	}
	assert.Empty(t, v.Said(), "nothing on the console")
	for _, address := range v.Asked() {
		assert.True(t, strings.HasPrefix(address, v.server) || strings.HasPrefix(address, "data:"), "asked for %s", address)
	}
}

// The page of the seventh lesson plays as served.
func TestHearInABrowser(t *testing.T) {
	long.Skip(t)
	v := newVisitor(t)
	v.Listens(v.server+"/hear", 1+len(raised))
	assert.Empty(t, v.Said(), "nothing on the console")
	for _, address := range v.Asked() {
		assert.True(t, strings.HasPrefix(address, v.server), "asked for %s", address)
	}
}

// The page of the eighth lesson is answered from the lesson to the next pair and back, by the mouse
// and by the keyboard.
func TestOvernightInABrowser(t *testing.T) {
	long.Skip(t)
	v := newVisitor(t)
	ready := func(selector string) { v.Do(chromedp.WaitReady(chromedp.CSS(selector))) }
	v.open("/?lesson=8&duration=0.35")
	v.Do(chromedp.Click(chromedp.CSS("#lesson a[href='/overnight']")))
	ready(".tries a[href*='yes']") // the lesson has a question too
	assert.Equal(t, "Look at the curves. Did it change?", v.Text(".question"))
	assert.NotContains(t, v.Text("main"), "The test", "nothing is said before the guess")
	assert.Equal(t, 1, see[int](v, "document.querySelectorAll('main figure').length"), "the curves alone")
	assert.Empty(t, v.Unnamed(), "everything that can be used has a name")
	v.Do(chromedp.Click(chromedp.CSS(".tries a:first-of-type")))
	ready(".reading")
	assert.Contains(t, v.Text(".reading"), "You said that it changed.")
	assert.Contains(t, v.Text("main"), "The test: did it change?")
	assert.Equal(t, 2, see[int](v, "document.querySelectorAll('main figure').length"), "the difference, and the curves")
	v.Wide(360)
	assert.True(t, see[bool](v, "document.documentElement.scrollWidth <= innerWidth"), "it fits a telephone")
	v.Do(chromedp.Focus(chromedp.CSS(".tries a")), chromedp.KeyEvent(kb.Enter))
	ready(".question")
	assert.Contains(t, v.Text("main"), "Pair number 2 ")
	v.Do(chromedp.Focus(chromedp.CSS(".tries li:last-child a")), chromedp.KeyEvent(kb.Enter))
	ready(".reading")
	assert.Contains(t, v.Text(".reading"), "You said that it did not change.")
	assert.Contains(t, v.Text(".reading"), "times of 2;", "guesses are counted from pair to pair")
	v.Do(chromedp.Click(chromedp.CSS(".tries li:last-child a")))
	ready("#lesson h3")
	assert.True(t, strings.HasPrefix(v.Text("#lesson h3"), "8."), "and the lesson is where it was")
	assert.Empty(t, v.Said(), "nothing on the console")
	for _, address := range v.Asked() {
		assert.True(t, strings.HasPrefix(address, v.server) || strings.HasPrefix(address, "data:"), "asked for %s", address)
	}
}

func selected(c control) string {
	for _, o := range c.Options {
		if o.Selected {
			return o.Value
		}
	}
	return ""
}

func TestByKeyboardAlone(t *testing.T) {
	v := newVisitor(t)
	v.open("/?duration=0.35")
	v.Press(kb.Tab)
	assert.Equal(t, "To the results", see[string](v, "document.activeElement.textContent"), "the first stop leads past the settings")
	// Every control is reached by Tab, and shows where the focus is.
	reached := map[string]bool{}
	for range 200 {
		v.Press(kb.Tab)
		if name := see[string](v, "document.activeElement.name || document.activeElement.className || ''"); name != "" {
			reached[name] = true
			assert.NotEqual(t, "none", see[string](v, "getComputedStyle(document.activeElement).outlineStyle"), name)
		}
		if see[bool](v, "document.activeElement === document.body") {
			break
		}
	}
	for _, g := range form(request{}.settings) {
		for _, c := range g.Controls {
			assert.True(t, reached[c.Name], "%s is reached", c.Name)
		}
	}
	assert.True(t, reached["try"] && reached["plot-cursor"], "tries and plots are reached")
	// A control changes under an arrow key, the page follows and the focus stays.
	v.Do(chromedp.Focus(chromedp.CSS("#set-smoothing")), chromedp.KeyEvent(kb.ArrowDown))
	v.wait("location.search.includes('smoothing=12')")
	assert.Contains(t, v.Text("#response"), "Smoothed over 1/12 octave.")
	assert.Equal(t, "smoothing", see[string](v, "document.activeElement.name"))
	assert.Contains(t, v.Text("#status"), "Shown after", "and a screen reader hears of it")
	// A try is followed by Enter.
	v.Do(chromedp.Focus(chromedp.CSS(".tries a")), chromedp.KeyEvent(kb.Enter))
	v.wait("document.querySelector('.tries a').ariaCurrent === 'true'")
	assert.True(t, see[bool](v, "document.activeElement.matches('.tries a')"))
	// Going back goes back.
	v.Do(chromedp.Evaluate[chromedp.Void]("history.back()"))
	v.wait("document.getElementById('set-smoothing').value === '12' && !location.search.includes('noise')")
	assert.Contains(t, v.Text("#response"), "Smoothed over 1/12 octave.")
	assert.Empty(t, v.Said())
}

func TestWithoutScript(t *testing.T) {
	v := newVisitor(t)
	v.Script(false)
	v.open("/?lesson=3&duration=0.35")
	v.Do(chromedp.Focus(chromedp.CSS("#set-level")), chromedp.KeyEvent(kb.ArrowUp), chromedp.Submit(chromedp.CSS("form")))
	v.Do(chromedp.WaitReady(chromedp.CSS(`#set-level option[value="-20"][selected]`)), chromedp.WaitVisible(chromedp.CSS("button[type=submit]")))
	for _, id := range []string{"response", "error", "recording", "spectrogram", "impulse", "group-delay", "harmonics"} {
		v.Do(chromedp.WaitVisible(chromedp.CSS("#" + id + " svg")))
	}
}

func TestLayoutAtThreeWidths(t *testing.T) {
	v := newVisitor(t)
	// The longest words: neither the sweep nor the clock is found.
	for _, address := range []string{"/?lesson=6&spread=4&seatings=3&duration=0.35", "/?level=-60&noise=-20&duration=0.35", "/?axis=1&duration=0.35"} {
		v.open(address)
		for _, scheme := range []string{"light", "dark"} {
			v.Medium("screen", "prefers-color-scheme", scheme)
			for _, width := range []int64{1200, 800, 400} {
				v.Wide(width)
				assert.LessOrEqual(t, see[int64](v, "document.documentElement.scrollWidth"), width, "%s, %s: nothing sticks out", scheme, address)
				assert.Equal(t, "none", see[string](v, fmt.Sprintf("getComputedStyle(document.querySelector('.on-%s')).display", other(scheme))), "one picture alone")
			}
		}
	}
	assert.Empty(t, v.Said())
}

// The picture that a lesson refers to is beside its buttons, without scrolling, before and after
// they are pressed.
func TestThePictureIsBesideTheButtons(t *testing.T) {
	v := newVisitor(t)
	for i, l := range lesson.All {
		v.open((request{l.Tries[0].Settings(), i + 1}).address())
		assert.Equal(t, l.Picture, see[string](v, "document.querySelector('#lead figure').id"), "%s: it is drawn", l.Title)
		for _, size := range [][2]int64{{1300, 900}, {390, 844}} {
			v.Do(chromedp.EmulateViewport(size[0], size[1]))
			low := see[float64](v, "Math.max(...[...document.querySelectorAll('.tries a, #lead .plot-svg')].map(e => e.getBoundingClientRect().bottom))")
			assert.LessOrEqual(t, low, float64(size[1]), "%s at %d × %d", l.Title, size[0], size[1])
			assert.Zero(t, see[float64](v, "scrollY"))
			assert.LessOrEqual(t, see[int64](v, "document.documentElement.scrollWidth"), size[0], "nothing sticks out")
			assert.GreaterOrEqual(t, see[float64](v, "document.querySelector('#lead .plot-svg').getBoundingClientRect().width"),
				min(float64(size[0])-40, 560), "%s: large enough to read", l.Title)
			row := see[[]float64](v, "(() => { const r = document.querySelector('.contents').getBoundingClientRect(), n = document.querySelector('.contents [aria-current]').getBoundingClientRect(); return [n.left - r.left, n.left - r.right]; })()")
			assert.True(t, row[0] >= -1 && row[1] < 0, "%s: its name is in sight", l.Title)
		}
	}
}

func TestWorkshopByAxe(t *testing.T) {
	long.Skip(t)
	v := newVisitor(t)
	v.open("/?lesson=7")
	v.Axe()
	for _, address := range []string{"/hear", "/overnight", "/overnight?guess=yes"} {
		v.Open(v.server + address)
		v.Axe()
	}
}

// tabTo presses Tab until an element that a selector finds has the focus.
func (v *visitor) tabTo(selector string) {
	v.Helper()
	for range 150 {
		v.Press(kb.Tab)
		if see[bool](v, fmt.Sprintf("document.activeElement.matches(%q)", selector)) {
			return
		}
	}
	v.Fatalf("Tab does not lead to %s", selector)
}

// A whole visit without a pointer: a lesson, its tries, a picture read, a setting changed, the
// answer, and the blind comparison.
func TestAVisitByKeyboard(t *testing.T) {
	long.Skip(t)
	v := newVisitor(t)
	v.open("/")
	v.tabTo(".contents li:nth-child(5) a")
	v.Press(kb.Enter)
	v.wait("document.querySelector('#lesson h3').textContent.startsWith('5.')")
	for k := range lesson.All[4].Tries {
		v.tabTo(fmt.Sprintf(".tries li:nth-child(%d) a", k+1))
		v.Press(kb.Enter)
		v.wait(fmt.Sprintf("document.querySelectorAll('.tries a')[%d].ariaCurrent === 'true'", k))
	}
	v.tabTo("#lead .plot-cursor")
	before := v.Text("#lead .plot-legend")
	v.Press(kb.ArrowRight)
	assert.NotEqual(t, before, v.Text("#lead .plot-legend"), "values are read")
	v.tabTo("#answer summary")
	v.Press(kb.Enter)
	assert.True(t, see[bool](v, "document.getElementById('answer').open"))
	v.tabTo("#set-smoothing")
	v.Press(kb.ArrowDown)
	v.wait("location.search.includes('smoothing=')")
	assert.True(t, see[bool](v, "document.getElementById('answer').open"), "what was opened stays open")
	v.open((request{lesson.All[6].Tries[0].Settings(), 7}).address())
	v.tabTo("a[href='/hear']")
	v.Press(kb.Enter)
	v.Do(chromedp.WaitReady(chromedp.CSS("#start")))
	v.tabTo("#start")
	v.Press(kb.Enter)
	for range 16 {
		v.tabTo("#hear-X")
		v.Press(kb.Enter)
		v.tabTo("#is-A")
		v.Press(kb.Enter)
	}
	assert.Contains(t, v.Text("#outcome"), "of 16 were right")
	assert.Empty(t, v.Said())
}

func other(scheme string) string {
	if scheme == "light" {
		return "dark"
	}
	return "light"
}
