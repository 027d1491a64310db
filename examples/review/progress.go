package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"example.com/earnest/examples/progress"
	"example.com/earnest/examples/session"
)

// steps tells the user the steps of a review: as lines or, once the session is known and on a
// terminal, as a bar.
type steps struct {
	out     io.Writer
	times   progress.Timings
	bar     *progress.Bar
	session *session.Session
	last    int // work of the step under way
}

// show begins the bar for a session.
func (p *steps) show(s *session.Session, terminal io.Writer) {
	p.session, p.bar = s, progress.New(terminal, workOf(s), "review")
}

// begin ends the step before, and begins one.
func (p *steps) begin(step string) {
	p.times.Begin(step)
	if p.bar == nil {
		fmt.Fprintln(p.out, "  "+step)
		return
	}
	p.bar.Add(p.last)
	p.bar.Describe(step)
	p.last = workOfStep(p.session, step)
}

// end ends the last step.
func (p *steps) end() {
	p.times.End()
	p.bar.Finish()
}

// The share of work of each step of a review, roughly in fiftieths of a session with music and
// rivals.
const (
	workOfReading = 1
	workOfSeating = 2 // inspecting and measuring it
	workOfPiece   = 4
	workOfRival   = 8
	workOfRest    = 6 // judging and writing
)

// workOf returns the work of a session.
func workOf(s *session.Session) int {
	rivals := len(s.Rivals)
	if s.Target.Pair != "" {
		rivals++
	}
	return 2*workOfReading + len(s.Seatings)*(workOfReading+2*workOfSeating) + 2*workOfSeating +
		pieces(s)*(workOfReading+workOfPiece) + rivals*workOfRival + 2*workOfRest
}

// pieces returns the number of comparisons of music and speech.
func pieces(s *session.Session) (n int) {
	for _, p := range s.Programmes {
		if n++; p.Left.File != "" && p.Right.File != "" {
			n++
		}
	}
	return n
}

// workOfStep returns the share of work of one step.
func workOfStep(s *session.Session, step string) int {
	name, reading := strings.CutPrefix(step, "reading ")
	switch {
	case reading && slices.ContainsFunc(s.Programmes, func(p session.Programme) bool {
		return slices.Contains([]string{p.Through.File, p.Left.File, p.Right.File}, name)
	}):
		return workOfReading + workOfPiece
	case strings.HasPrefix(step, "direct recording "):
		return 2 * workOfSeating
	case strings.HasPrefix(step, "checking whether "), step == "measuring 1 seating",
		strings.HasPrefix(step, "measuring ") && strings.HasSuffix(step, " seatings"):
		return workOfSeating * len(s.Seatings)
	case strings.HasPrefix(step, "measuring "):
		return workOfRival
	case step == "judging", step == "writing the report":
		return workOfRest
	}
	return workOfReading
}
