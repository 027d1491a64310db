package watch

import (
	"fmt"
	"math/rand/v2"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/session"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/browser"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response/capture"
)

func TestMain(m *testing.M) { os.Exit(browser.Main(m)) }

// reviewer is somebody with a recorder and this page, who has a keyboard and no mouse.
type reviewer struct {
	*recorder
	*browser.Visitor
}

// wait waits until a condition holds in the page.
func (r *reviewer) wait(condition string) {
	r.Visitor.Helper()
	browser.See[bool](r.Visitor, `new Promise(done => { const look = () => (`+condition+`) ? done(true) : setTimeout(look, 10); look(); })`)
}

// records saves a recording, and waits for the word about it.
func (r *reviewer) records(name string, data []byte, word string) {
	r.Visitor.Helper()
	r.land(name, data)
	r.wait(fmt.Sprintf("document.querySelector('.verdict .file')?.textContent.startsWith(%q) && document.getElementById('word').textContent !== 'Wait'", name))
	assert.Equal(r.Visitor, word, r.Text("#word"), "%s: %s", name, r.Text(".verdict"))
}

// sound looks at the page: nothing overflows, the console is empty, and axe-core finds no
// violation.
func (r *reviewer) sound() {
	r.Visitor.Helper()
	assert.True(r.Visitor, browser.See[bool](r.Visitor, "document.documentElement.scrollWidth <= innerWidth"), "nothing hangs over")
	assert.Empty(r.Visitor, r.Said())
	assert.Empty(r.Visitor, r.Unnamed())
	if os.Getenv("EARNEST_AXE") != "" { // or else the rest would be skipped
		r.Axe()
	}
}

// A whole session by keyboard alone, from an empty folder to the report.
func TestAWholeSessionByKeyboard(t *testing.T) {
	long.Skip(t)
	for _, size := range [][2]int64{{1300, 900}, {390, 844}} {
		t.Run(fmt.Sprintf("%d x %d", size[0], size[1]), func(t *testing.T) {
			r := &reviewer{&recorder{t, newDesk(t.TempDir()), time.Unix(1700000000, 0)}, browser.Visit(t)}
			t.Cleanup(r.close)
			r.usual = session.Stimulus{Seconds: 1, Silence: 0.6, Gap: 0.5, Level: -12}
			server := httptest.NewServer(r.handler())
			t.Cleanup(server.Close)
			r.Do(chromedp.EmulateViewport(size[0], size[1]))
			r.Open(server.URL)
			r.sound()

			r.Press(kb.Tab)
			r.Press("Wren")
			r.Press(kb.Tab)
			r.Press("flat plate, invented")
			r.Press(kb.Enter)
			r.wait("document.getElementById('make')")
			r.Press("m")
			r.wait("!document.getElementById('make')")
			assert.FileExists(t, filepath.Join(r.folder, "stimulus.wav"))

			r.records("1.wav", direct(), "Good")
			assert.Contains(t, r.Text(".caution"), "Take the headphones off your head")
			r.records("2.wav", through(rig.Left, 1, 20), "Again")
			r.records("3.wav", through(rig.Left, 1, 0), "Good")
			r.records("4.wav", through(rig.Right, 1, 0), "Good")
			r.sound()
			noise := make([]float64, 6*48000)
			for i := range noise {
				noise[i] = 0.02 * rand.New(rand.NewPCG(uint64(i), 1)).NormFloat64()
			}
			r.records("5.wav", encoded(&capture.Recording{SampleRate: 48000, Channels: [][]float64{noise}}), "Which?")
			r.sound()
			r.Press("1")
			r.wait("!document.querySelector('.choices')")
			r.later(stillCut)
			r.wait("document.getElementById('word').textContent === 'Good'")

			r.wait("document.querySelectorAll('.line').length >= 4")
			r.Press("w")
			r.wait("!document.querySelector('.line')")
			assert.Contains(t, r.Text(".report"), "It will lack")
			r.Press("r")
			r.Do(chromedp.WaitReady(chromedp.CSS("section.answer"))) // of the report, which the page has opened
			assert.Contains(t, r.Text("h1"), "Wren")
			written, err := session.Read(r.folder)
			require.NoError(t, err)
			assert.Equal(t, "1.wav 3.wav 4.wav 5.wav", strings.Join([]string{written.Direct.File, written.Seatings[0].Left.File, written.Seatings[0].Right.File, written.Isolation.Open}, " "))
		})
	}
}
