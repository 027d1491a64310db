// Package progress shows a person at a terminal what a command is doing and how long it may still
// take, and reports where its time went.
package progress

import (
	"io"
	"os"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"
)

// Bar is a bar on a terminal. A nil Bar is silent.
type Bar struct {
	bar       *progressbar.ProgressBar
	all, done int
}

// New begins a bar for a number of units of work. The text in what names the units. It returns nil
// unless w is a terminal.
func New(w io.Writer, all int, what string) *Bar {
	if f, ok := w.(*os.File); !ok || !term.IsTerminal(int(f.Fd())) {
		return nil
	}
	return draw(w, all, what)
}

// Describe sets the text that says what is being done.
func (b *Bar) Describe(what string) {
	if b != nil {
		b.bar.Describe(what)
	}
}

// Add counts units of work that are done. A count above the total is ignored.
func (b *Bar) Add(n int) {
	if b == nil || b.done+n > b.all {
		return
	}
	b.done += n
	_ = b.bar.Add(n) // an error of the terminal is no reason to stop
}

// Finish removes the bar from the screen.
func (b *Bar) Finish() {
	if b != nil {
		_ = b.bar.Finish()
	}
}

func draw(w io.Writer, all int, what string) *Bar {
	return &Bar{all: all, bar: progressbar.NewOptions(all,
		progressbar.OptionSetWriter(w),
		progressbar.OptionSetDescription(what),
		progressbar.OptionSetWidth(30),
		progressbar.OptionShowCount(),
		progressbar.OptionSetPredictTime(true),
		progressbar.OptionClearOnFinish(),
	)}
}
