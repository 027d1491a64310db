//go:build !js

// Package browser is a reader with a browser, for tests of pages: it opens them in Chromium without
// a window, acts as a reader would, and records their network requests and console messages.
package browser

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/programs"
)

// Visitor is a reader with a browser, for one test and its subtests. An error ends the test.
type Visitor struct {
	*testing.T
	// Context is the context of chromedp.
	Context context.Context

	mutex       sync.Mutex
	asked, said []string
}

// Visit opens a window of the package's browser, with its own profile, which is closed when the
// test ends. A page in a browser takes seconds: the test runs among the long ones. Without Chromium
// it is skipped, or fails, as programs.Need says.
func Visit(t *testing.T) *Visitor {
	t.Helper()
	long.Skip(t)
	path := programs.Need(t, "chromium")
	shared.once.Do(func() { start(path) })
	require.NoError(t, shared.err)
	// The deadline stops a page that hangs early enough for the test to report the place.
	deadline, limited := t.Deadline()
	if !limited {
		deadline = time.Now().Add(10 * time.Minute)
	}
	ctx, cancel := context.WithDeadline(shared.context, deadline.Add(-10*time.Second))
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx, chromedp.WithNewBrowserContext())
	t.Cleanup(cancel)
	v := &Visitor{T: t, Context: ctx}
	require.NoError(t, chromedp.Listen(ctx, v.hear))
	_, err := chromedp.Call(ctx, network.Enable, network.EnableParams{})
	require.NoError(t, err)
	return v
}

func (v *Visitor) hear(event any) {
	v.mutex.Lock()
	defer v.mutex.Unlock()
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		v.asked = append(v.asked, e.Request.URL)
	case *runtime.EventConsoleAPICalled:
		v.said = append(v.said, fmt.Sprint(e.Type))
	case *log.EventEntryAdded:
		v.said = append(v.said, e.Entry.Text) // among them refusals of a page's own security policy
	case *runtime.EventExceptionThrown:
		v.said = append(v.said, fmt.Sprint(e.ExceptionDetails.Text))
	}
}

// Asked returns the addresses that the browser has requested.
func (v *Visitor) Asked() []string {
	v.mutex.Lock()
	defer v.mutex.Unlock()
	return slices.Clone(v.asked)
}

// Said returns the console messages of the page, and its uncaught exceptions.
func (v *Visitor) Said() []string {
	v.mutex.Lock()
	defer v.mutex.Unlock()
	return slices.Clone(v.said)
}

// Do performs steps.
func (v *Visitor) Do(steps ...chromedp.Action[chromedp.Void]) {
	v.Helper()
	require.NoError(v, chromedp.Do(v.Context, steps...))
}

// Open loads an address and waits for its body.
func (v *Visitor) Open(address string) {
	v.Helper()
	v.Do(chromedp.Navigate(address), chromedp.WaitReady(chromedp.CSS("body")))
}

// Wide sets the width of the window in CSS pixels.
func (v *Visitor) Wide(width int64) {
	v.Helper()
	v.Do(chromedp.EmulateViewport(width, 900))
}

// Medium sets the medium, "screen" or "print", and what the reader prefers, as
// pairs of a media feature and its value.
func (v *Visitor) Medium(medium string, preferences ...string) {
	v.Helper()
	var features []*emulation.MediaFeature
	for i := 0; i+1 < len(preferences); i += 2 {
		features = append(features, &emulation.MediaFeature{Name: preferences[i], Value: preferences[i+1]})
	}
	_, err := chromedp.Call(v.Context, emulation.SetEmulatedMedia,
		emulation.SetEmulatedMediaParams{Media: medium, Features: features})
	require.NoError(v, err)
}

// Script turns the pages' own script on or off.
func (v *Visitor) Script(on bool) {
	v.Helper()
	_, err := chromedp.Call(v.Context, emulation.SetScriptExecutionDisabled,
		emulation.SetScriptExecutionDisabledParams{Value: !on})
	require.NoError(v, err)
}

// Press presses a key.
func (v *Visitor) Press(key string) {
	v.Helper()
	v.Do(chromedp.KeyEvent(key))
}

// Text returns the text of the first element that a selector finds.
func (v *Visitor) Text(selector string) string {
	v.Helper()
	return See[string](v, fmt.Sprintf("document.querySelector(%q).textContent", selector))
}

// Point moves the pointer to a share of the width and of the height of the first element that a
// selector finds, scrolled into view.
func (v *Visitor) Point(selector string, across, down float64) {
	v.Helper()
	at := See[[]float64](v, fmt.Sprintf(`(() => { const e = document.querySelector(%q); e.scrollIntoView({block: "center"});
		const b = e.getBoundingClientRect(); return [b.left + %g*b.width, b.top + %g*b.height]; })()`, selector, across, down))
	v.Do(chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, at[0], at[1]))
}

// Unnamed returns the elements that can be focused and have no accessible name, by their role.
func (v *Visitor) Unnamed() []string {
	v.Helper()
	tree, err := chromedp.Call(v.Context, accessibility.GetFullAXTree, accessibility.GetFullAXTreeParams{})
	require.NoError(v, err)
	var out []string
	for _, n := range tree.Nodes {
		if n.Ignored || n.Name != nil && len(n.Name.Value) > len(`""`) {
			continue
		}
		for _, p := range n.Properties {
			if p.Name == accessibility.PropertyNameFocusable && string(p.Value.Value) == "true" {
				out = append(out, string(n.Role.Value))
			}
		}
	}
	return out
}

// shared is the browser of all tests of a package: the first of them that visits a page starts it,
// and Main closes it.
var shared struct {
	once    sync.Once
	context context.Context
	err     error
	close   []context.CancelFunc
}

// Main runs the tests of a package that visit pages, with one browser for all of them; TestMain
// exits with the code that it returns.
func Main(m *testing.M) int {
	defer func() {
		for _, end := range slices.Backward(shared.close) {
			end()
		}
	}()
	return m.Run()
}

// See evaluates an expression in the page, and waits if it is a promise.
func See[T any](v *Visitor, expression string) T {
	v.Helper()
	got, err := chromedp.Run(v.Context, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	require.NoError(v, err, expression)
	return got
}

func start(path string) {
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox,
		chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-sync", true))
	allocator, end := chromedp.NewExecAllocator(context.Background(), options...)
	window, leave := chromedp.NewContext(allocator)
	shared.context, shared.close = window, []context.CancelFunc{end, leave}
	shared.err = chromedp.Do(window)
}
