// Package spoilt holds the review against recordings that something is wrong with. Its test draws
// whole sessions, a direct recording and one through headphones, of random stimuli, devices, rooms,
// noise, clocks and formats; spoils one in a way and by an amount that are drawn too; and counts
// what the review says of it first.
//
// A recording counts as wrong where the response to a third octave from 25 Hz to 16 kHz is off by
// more than 0.5 dB against the same session unspoilt. Of the wrong ones the test counts those that
// nothing is said of, and those that are called by their name; of the sound ones, those that
// something is said of.
//
//	go test ./internal/testing/spoilt -v                             # a few short ones
//	go test ./internal/testing/spoilt -v -sessions 600               # the confusion table, half an hour
//	go test ./internal/testing/spoilt -v -sessions 50 -fault limiter # one fault; -everything prints every session
package spoilt
