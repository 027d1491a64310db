// Package spoilt tests the review with faulty recordings. Its test draws whole sessions, a direct
// recording and one through headphones, with random stimuli, devices, rooms, noise, clocks and
// formats. It spoils one of them in a random way and by a random amount, and counts the first
// finding of the review.
//
// A recording counts as wrong if the response to a third octave from 25 Hz to 16 kHz is off by more
// than 0.5 dB against the same session unspoilt. Of the wrong ones the test counts those without a
// finding, and those with the right name; of the sound ones, those with a finding.
//
//	go test ./internal/testing/spoilt -v                             # a few short ones
//	go test ./internal/testing/spoilt -v -sessions 600               # the confusion table, half an hour
//	go test ./internal/testing/spoilt -v -sessions 50 -fault limiter # one fault; -everything prints every session
package spoilt
