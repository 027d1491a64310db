package main

import (
	"slices"
	"strings"

	"example.com/earnest/examples/session"
)

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
	case strings.HasPrefix(step, "checking whether "), strings.HasPrefix(step, "measuring "+
		"") && strings.HasSuffix(step, " seatings"),
		step == "measuring 1 seating":
		return workOfSeating * len(s.Seatings)
	case strings.HasPrefix(step, "measuring "):
		return workOfRival
	case step == "judging", step == "writing the report":
		return workOfRest
	}
	return workOfReading
}
