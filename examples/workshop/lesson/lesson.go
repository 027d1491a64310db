// Package lesson holds the workshop's eight lessons, in order: each a question,
// settings to try, and the answer with the figures of the measurement at hand.
package lesson

import "example.com/earnest/examples/workshop/bench"

// Lesson is one lesson. It is data: All has them.
type Lesson struct {
	Title, Question string // as the page shows them
	// Look says what to look for, in the picture of that id in the page.
	Look, Picture string
	// Listen tells whether there is something to listen to.
	Listen bool
	// Guess tells whether the reader is asked to look at curves and guess first.
	Guess bool
	// Tries are settings to compare, in order.
	Tries []Try
	// Answer is what the lesson teaches, whatever the settings.
	Answer string
	// Reading says what the measurement at hand shows of it.
	Reading func(r *bench.Result) string
}

// Try is settings to try.
type Try struct {
	Label  string                  // on its button
	Change func(s *bench.Settings) // what it does to the usual settings
}

// Settings are the workshop's, changed as the try says.
func (t Try) Settings() bench.Settings {
	s := bench.Default()
	t.Change(&s)
	return s
}

// Read is the lesson's Reading, or why there is none.
func (l Lesson) Read(r *bench.Result) string {
	if r.Problem != nil {
		return "With these settings there is no response to read."
	}
	return l.Reading(r)
}
