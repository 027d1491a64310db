// Package coverage draws whole invented reviews and counts how often the stated intervals held the
// truth. Its tests invent a pair of headphones, rivals, a rig and its errors, and the scatter of
// the seatings. They simulate the recordings, send them through package review, and compare every
// kind of figure in a report with the truth.
//
//	go test ./internal/testing/coverage                                             # a few reviews, in seconds
//	go test ./internal/testing/coverage -run TestIntervals -reviews 1000 -v -timeout 0  # the whole table
//	go test ./internal/testing/coverage -run TestIntervalsOfLevels -levels 200 -v -timeout 0  # tones, levels, the highest level
//	go test ./internal/testing/coverage -run TestIntervalsOfProducts -levels 100 -v -timeout 0  # two tones at once, and many
//	go test ./internal/testing/coverage -run TestIntervalsOfCrosstalk -levels 100 -v -timeout 0  # the sides: crosstalk, and their distance in time
//	go test ./internal/testing/coverage -run TestIntervalsOfLeads -levels 70 -v -timeout 0  # a return lead that both sides share
//	go test ./internal/testing/coverage -run TestIntervalsOfDelays -levels 60 -v -timeout 0  # the group delay
//	go test ./internal/testing/coverage -run TestCurves -sessions 1000 -v -timeout 0    # figures of curves alone
//	go test ./internal/testing/coverage -run TestVerdicts -sessions 2000 -v -timeout 0  # claims, rankings, outliers
//
// # What is drawn
//
// The device: a bass shelf, a treble slope and six resonances on each side, the right one a little
// different. Its harmonics 2 and 3, at levels that do not depend on frequency. Two to five seatings
// whose scatter comes from one family of those in scatter_test.go. The signal-to-noise ratio at 1
// kHz, 12 to 60 dB, white or pink; noise in the direct recording too. One microphone for both sides
// or two. The errors of placement, microphone, coupler, drift, calibrator, voltmeter, resistors and
// amplifier, from the standard uncertainties that the session states. The interface's own
// harmonics. In reviews of levels the second harmonic rises by 1 dB with each dB of the level, the
// third by 2 dB. In reviews of crosstalk each side hears the other, through the pair and through the
// interface. In reviews of group delay the interface has one of its own, and the recorder's clock is
// another. The right answer to a mean over seatings is the expected value over all seatings
// that there could be.
//
// Everything is simulated as a level against the logarithm of frequency, made minimum phase and
// convolved with the stimulus; no filter, no seating and no integral of the library or its
// simulated rig is used.
//
// # What is counted
//
// Figures of one review are not independent of each other, so a line's binomial interval is that of
// as many independent trials as would have its variance between reviews. A line fails where its
// 99.9 % interval lies outside what is asked for. The last tables, with their commands, are in
// coverage.txt.
package coverage
