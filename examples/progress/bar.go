// Package progress shows a person at a terminal what a command is doing and how long it may still take,
// and tells where its time went.
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

// New begins a bar of so many units of work, with what is counted; nil unless w is a terminal.
func New(w io.Writer, all int, what string) *Bar {
	if f, ok := w.(*os.File); !ok || !term.IsTerminal(int(f.Fd())) {
		return nil
	}
	return draw(w, all, what)
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

// Describe says what is being done.
func (b *Bar) Describe(what string) {
	if b != nil {
		b.bar.Describe(what)
	}
}

// Add counts units of work that are done. More than there are stay out of the count.
func (b *Bar) Add(n int) {
	if b == nil || b.done+n > b.all {
		return
	}
	b.done += n
	_ = b.bar.Add(n) // a terminal that does not show it is no reason to stop
}

// Finish takes the bar off the screen.
func (b *Bar) Finish() {
	if b != nil {
		_ = b.bar.Finish()
	}
}
