package main

import (
	"io"

	"github.com/schollz/progressbar/v3"
)

// progress shows a person how far it is; for anything but a terminal it is silent. A nil progress is silent too.
type progress struct{ bar *progressbar.ProgressBar }

// newProgress begins to count so many sessions.
func newProgress(w io.Writer, all int) *progress {
	if !isTerminal(w) {
		return nil
	}
	return drawProgress(w, all)
}

func drawProgress(w io.Writer, all int) *progress {
	return &progress{progressbar.NewOptions(all,
		progressbar.OptionSetWriter(w),
		progressbar.OptionSetDescription("sessions"),
		progressbar.OptionSetWidth(30),
		progressbar.OptionShowCount(),
		progressbar.OptionSetPredictTime(true),
		progressbar.OptionClearOnFinish(),
	)}
}

// step counts a session that is done, and names it where it failed.
func (p *progress) step(r Record) {
	if p == nil {
		return
	}
	if r.Error != "" {
		p.bar.Describe("sessions; failed: " + r.Session)
	}
	_ = p.bar.Add(1) // a terminal that does not show it is no reason to stop
}

// finish takes the bar off the screen.
func (p *progress) finish() {
	if p != nil {
		_ = p.bar.Finish()
	}
}
