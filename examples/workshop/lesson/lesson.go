// Package lesson holds the workshop's eight lessons in order. Each has a question, settings to try,
// and an answer with the figures of the current measurement.
package lesson

import "example.com/earnest/examples/workshop/bench"

// Lesson is one lesson. All lists them.
type Lesson struct {
	Title, Question string // as the page shows them
	// Look says what to look for, and Picture is the id of the picture.
	Look, Picture string
	// Listen says that the lesson has sounds to listen to.
	Listen bool
	// Guess says that the reader first looks at curves and guesses.
	Guess bool
	// Tries are settings to compare, in order.
	Tries []Try
	// Answer is the general answer, for all settings.
	Answer string
	// Reading returns what the current measurement shows about it.
	Reading func(r *bench.Result) string
}

// Read returns the lesson's Reading, or the reason why there is none.
func (l Lesson) Read(r *bench.Result) string {
	if r.Problem != nil {
		return "With these settings there is no response to read."
	}
	return l.Reading(r)
}

// Try is a set of settings to try.
type Try struct {
	Label  string                  // on its button
	Change func(s *bench.Settings) // its change of the default settings
}

// Settings returns the default settings with the change applied.
func (t Try) Settings() bench.Settings {
	s := bench.Default()
	t.Change(&s)
	return s
}
