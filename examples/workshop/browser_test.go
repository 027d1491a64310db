package main

import (
	"context"
	"fmt"
	"net/http/httptest"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/workshop/lesson"
)

// visitor is somebody with a browser.
type visitor struct {
	*testing.T
	ctx    context.Context
	server string
	mutex  sync.Mutex
	asked  []string // addresses the browser asked for
	said   []string // what the page wrote to the console, and uncaught exceptions
}

// newVisitor opens a browser. Without one the test is skipped, or fails where
// EARNEST_REQUIRE_PROGRAMS says that nothing may be.
func newVisitor(t *testing.T) *visitor {
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("EARNEST_REQUIRE_PROGRAMS") == "1" {
			t.Fatal("chromium is not installed, and EARNEST_REQUIRE_PROGRAMS asks for it: apt-get install chromium")
		}
		t.Skip("chromium is not installed")
	}
	server := httptest.NewServer(newWorkshop())
	t.Cleanup(server.Close)
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-sync", true))
	// Whatever hangs ends while there is time left to say where; the race
	// detector on a busy machine takes minutes.
	deadline, limited := t.Deadline()
	if !limited {
		deadline = time.Now().Add(10 * time.Minute)
	}
	ctx, cancel := context.WithDeadline(context.Background(), deadline.Add(-10*time.Second))
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewExecAllocator(ctx, options...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	v := &visitor{T: t, ctx: ctx, server: server.URL}
	require.NoError(t, chromedp.Listen(ctx, v.hear))
	_, err = chromedp.Call(ctx, network.Enable, network.EnableParams{})
	require.NoError(t, err)
	return v
}

func (v *visitor) hear(event any) {
	v.mutex.Lock()
	defer v.mutex.Unlock()
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		v.asked = append(v.asked, e.Request.URL)
	case *runtime.EventConsoleAPICalled:
		v.said = append(v.said, fmt.Sprint(e.Type))
	case *log.EventEntryAdded:
		v.said = append(v.said, e.Entry.Text) // among them what the page's own security policy refuses
	case *runtime.EventExceptionThrown:
		v.said = append(v.said, fmt.Sprint(e.ExceptionDetails.Text))
	}
}

func (v *visitor) do(steps ...chromedp.Action[chromedp.Void]) {
	v.Helper()
	require.NoError(v, chromedp.Do(v.ctx, steps...))
}

// open loads an address of the workshop.
func (v *visitor) open(address string) {
	v.Helper()
	v.do(chromedp.Navigate(v.server+address), chromedp.WaitReady(chromedp.CSS("#results .headline")))
}

// see evaluates an expression in the page.
func see[T any](v *visitor, expression string) T {
	v.Helper()
	got, err := chromedp.Run(v.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	require.NoError(v, err, expression)
	return got
}

// wait waits until a condition holds in the page and nothing is being measured.
func (v *visitor) wait(condition string) {
	v.Helper()
	see[bool](v, `new Promise(done => { const look = () => !document.querySelector("[aria-busy]") && (`+condition+`) ? done(true) : setTimeout(look, 10); look(); })`)
}

func (v *visitor) text(selector string) string {
	v.Helper()
	return see[string](v, fmt.Sprintf("document.querySelector(%q).textContent", selector))
}

func TestEachLessonInABrowser(t *testing.T) {
	v := newVisitor(t)
	v.open("/")
	for i, l := range lesson.All {
		v.do(chromedp.Click(chromedp.CSS(fmt.Sprintf(".contents li:nth-child(%d) a", i+1))))
		v.wait(fmt.Sprintf("document.querySelector('#lesson h3').textContent.startsWith('%d.')", i+1))
		assert.Equal(t, l.Question, v.text(".question"))
		assert.False(t, see[bool](v, "document.getElementById('answer').open"), "the answer waits until it is asked for")
		for k, try := range l.Tries {
			v.do(chromedp.Click(chromedp.CSS(fmt.Sprintf(".tries li:nth-child(%d) a", k+1))))
			v.wait(fmt.Sprintf("document.querySelectorAll('.tries a')[%d].ariaCurrent === 'true'", k))
			there := request{try.Settings(), i + 1}
			assert.Equal(t, v.server+there.address(), see[string](v, "location.href"), "it can be kept and sent")
			for _, g := range form(try.Settings()) {
				for _, c := range g.Controls {
					assert.Equal(t, selected(c), see[string](v, fmt.Sprintf("document.getElementById('set-%s').value", c.Name)), "%s: %s", try.Label, c.Name)
				}
			}
			reading := v.text(".reading")
			assert.Greater(t, len(reading), 60, "%s", try.Label)
			assert.NotContains(t, reading, "NaN")
			assert.Equal(t, 6, see[int](v, "document.querySelectorAll('#results figure').length"), "every picture is there")
			assert.Equal(t, 5, see[int](v, "document.querySelectorAll('#results .plot-cursor').length"), "and every plot can be read")
		}
		v.do(chromedp.Click(chromedp.CSS("#answer summary")))
		assert.True(t, see[bool](v, "document.getElementById('answer').open"))
		assert.Equal(t, l.Answer, v.text("#answer p"))
	}
	assert.Empty(t, v.said, "nothing on the console")
	for _, address := range v.asked {
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
	v.do(chromedp.KeyEvent(kb.Tab))
	assert.Equal(t, "To the results", see[string](v, "document.activeElement.textContent"), "the first stop leads past the settings")
	// Every control is reached by Tab, and shows where the focus is.
	reached := map[string]bool{}
	for range 200 {
		v.do(chromedp.KeyEvent(kb.Tab))
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
	v.do(chromedp.Focus(chromedp.CSS("#set-smoothing")), chromedp.KeyEvent(kb.ArrowDown))
	v.wait("location.search.includes('smoothing=12')")
	assert.Contains(t, v.text("#response"), "Smoothed over 1/12 octave.")
	assert.Equal(t, "smoothing", see[string](v, "document.activeElement.name"))
	assert.Contains(t, v.text("#status"), "Shown after", "and a screen reader hears of it")
	// A try is followed by Enter.
	v.do(chromedp.Focus(chromedp.CSS(".tries a")), chromedp.KeyEvent(kb.Enter))
	v.wait("document.querySelector('.tries a').ariaCurrent === 'true'")
	assert.True(t, see[bool](v, "document.activeElement.matches('.tries a')"))
	// Going back goes back.
	v.do(chromedp.Evaluate[chromedp.Void]("history.back()"))
	v.wait("document.getElementById('set-smoothing').value === '12' && !location.search.includes('noise')")
	assert.Contains(t, v.text("#response"), "Smoothed over 1/12 octave.")
	assert.Empty(t, v.said)
}

func TestWithoutScript(t *testing.T) {
	v := newVisitor(t)
	_, err := chromedp.Call(v.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	require.NoError(t, err)
	v.open("/?lesson=3&duration=0.35")
	v.do(chromedp.Focus(chromedp.CSS("#set-level")), chromedp.KeyEvent(kb.ArrowUp), chromedp.Submit(chromedp.CSS("form")))
	v.do(chromedp.WaitReady(chromedp.CSS(`#set-level option[value="-20"][selected]`)), chromedp.WaitVisible(chromedp.CSS("button[type=submit]")))
	for _, id := range []string{"response", "error", "recording", "spectrogram", "impulse", "harmonics"} {
		v.do(chromedp.WaitVisible(chromedp.CSS("#" + id + " svg")))
	}
}

func TestLayoutAtThreeWidths(t *testing.T) {
	v := newVisitor(t)
	for _, scheme := range []string{"light", "dark"} {
		_, err := chromedp.Call(v.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
		require.NoError(t, err)
		for _, width := range []int64{1200, 800, 400} {
			v.do(chromedp.EmulateViewport(width, 900))
			// The longest words: nothing is found, and the clock neither.
			for _, address := range []string{"/?lesson=6&spread=4&seatings=3&duration=0.35", "/?level=-60&noise=-20&duration=0.35", "/?axis=1&duration=0.35"} {
				v.open(address)
				assert.LessOrEqual(t, see[int64](v, "document.documentElement.scrollWidth"), width, "%s, %s: nothing sticks out", scheme, address)
				assert.Equal(t, "none", see[string](v, fmt.Sprintf("getComputedStyle(document.querySelector('.on-%s')).display", other(scheme))), "one picture alone")
			}
		}
	}
	assert.Empty(t, v.said)
}

func other(scheme string) string {
	if scheme == "light" {
		return "dark"
	}
	return "light"
}
