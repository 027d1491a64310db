// Package review measures and judges a pair of headphones from recordings in memory. It returns the
// response, distortion, the difference of the sides, results from music and speech, levels and a
// judgement, each with its uncertainty.
//
// A Bench is made once for a stimulus and a rig. Its direct recording is made with the interface
// patched into itself. A bench measures any number of pairs, several at once if needed. A Pair
// takes its seatings one by one. A seating that cannot be used is refused with findings that say
// why; the others are still measured. Measure returns the Results, and Judge compares them with a
// target, the maker's claims, the needs of common uses, and other pairs:
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
// response (package response). The response of the headphones alone is the recording through them
// divided by the direct recording and smoothed over 1/12 octave, with the microphone's error
// subtracted. It is not known where the noise of either recording is less than 10 dB below it,
// outside the sweep's band, and above Config.MaxFrequency. The response of a side is the mean in
// decibels over the seatings.
//
// # Music and speech alone
//
// A bench without a stimulus measures a pair from pieces of music and speech. Each is recorded once
// straight through the interface and once through the headphones. Pair.Play takes them one by one:
//
//	bench, err := review.New(review.Config{Rig: "flat plate"})
//	pair := bench.Pair(review.About{Name: "Wren"})
//	err = pair.Play(review.Material{Name: "song", Side: "left", Direct: direct, Through: through})
//
// Each piece gives the filter between its two recordings where it has energy (package programme),
// smoothed like that of a sweep. At every frequency the pieces of one seating and side are averaged
// with weights inverse to their variances. Chi-square tests of their levels and shapes tell whether
// the pieces agree; if they do not, their difference widens the interval. Distortion, phase and
// decay need a sweep and are not known. Everything else is as with a sweep.
//
// # Uncertainty
//
// Every response and every figure derived from it carries the components of its uncertainty
// (package response): the scatter of the seatings, pooled over both sides if they were put on one
// at a time; the noise of the recordings; the length of the window; the microphone's uncertainty
// from its file; the drift between two direct recordings, if DirectAfter was given a second one;
// and the components in Config.Stated, such as coupler, placement, samples and air. Errors that two
// sides or two pairs share, such as those of one microphone or one rig, cancel in their difference.
// Results.NotIncluded lists the usual components that were not stated.
package review
