// Package review measures and judges a pair of headphones from recordings in memory. It gives the
// response, the distortion, left against right, music and speech, the level, and the judgement, every
// figure with its uncertainty.
//
// A Bench is made once from what was played and from the rig, and given the direct recording: the
// interface patched into itself. It then measures any number of pairs, several at once if need be.
// A Pair takes its seatings one by one; each is accepted, or refused with the findings that say why,
// and the others are measured all the same. Measure gives the Results, and Judge weighs them against
// a target, the maker's claims, what people use headphones for, and other pairs:
//
//	bench, err := review.New(review.Config{Stimulus: stimulus, Rig: "flat plate"})
//	findings, err := bench.Direct(review.Both(direct))
//	pair := bench.Pair(review.About{Name: "Wren"})
//	findings, err = pair.Seat(review.Seating{Name: "first", Channels: review.Both(through)})
//	results, err := pair.Measure()
//	err = results.Judge(review.Criteria{})
//
// # How a side is measured
//
// Repeats of the sweep are averaged, deconvolved, and windowed around the peak of the impulse
// response (package response). The response of the headphones alone is what came through them,
// divided by the direct recording, smoothed over 1/12 octave; the microphone's calibration is taken
// off. It is not known where noise in either recording is less than 10 dB below it, outside the
// sweep's band, and above Config.MaxFrequency. The response of a side is the mean in decibels over
// the seatings.
//
// # Music and speech alone
//
// A bench without a stimulus measures a pair from pieces of music and speech, recorded straight through the
// interface and through the headphones; Pair.Play takes them one by one:
//
//	bench, err := review.New(review.Config{Rig: "flat plate"})
//	pair := bench.Pair(review.About{Name: "Wren"})
//	err = pair.Play(review.Material{Name: "song", Side: "left", Direct: direct, Through: through})
//
// Each piece gives the filter between its two recordings where it has energy (package programme), smoothed as
// that of a sweep. At every frequency the pieces of one seating and side are averaged with weights that go with
// the inverse of their variances. Chi-square tests of their levels and of their shapes tell whether they
// agree; where they do not, what they differ by widens the interval. Everything else is as with a sweep; what
// takes one, distortion, phase and decay, is not known.
//
// # What makes it unsure
//
// Every response carries the components of its uncertainty, and so does every figure made of it
// (package response): the scatter of the seatings, pooled over both sides where they were put on one at
// a time; the noise of the recordings and the length of the window; the microphone's, from its file;
// the drift between two direct recordings, where DirectAfter has a second; and what Config.Stated says
// of coupler, placement, samples and air. What two sides, or two pairs, have in common cancels in their
// difference, and nothing else does: one microphone, one rig. Results.NotIncluded lists what is usual
// and was not stated.
package review
