// Package change says whether something changed: one pair in several conditions, before and after
// twenty hours of playing, with other pads, with glasses, with noise cancelling on. It says where and by
// how much, or how large a change can still be where none was found, or that it cannot tell. It also
// tells how far specimens of one model differ, and how many seatings a comparison needs.
//
// [Compare] takes the seatings in the order in which they were measured, each with its condition:
//
//	changes, err := change.Compare(seatings, change.Config{Random: true})
//	fmt.Println(&changes[0])
//
// # How conditions are compared
//
// Seatings of two conditions are independent; or paired, where both were measured in one placement, as
// with a switch that is turned without lifting the pair; or in turn, A B A B, with the drift taken out;
// or of several days. The difference is that of least squares of
//
//	y = condition + placement or day + drift · order + e,
//
// at every frequency, and the scatter is what this leaves over: the paired and the unpaired t-test are its
// simple cases. What both conditions have in common cancels, such as microphone, coupler and direct
// recording, and nothing else does. Of two conditions with independent seatings the scatter is pooled
// and guarded as [response.PoolSides] does with sides.
//
// Conditions that were measured on the same days share what a day does, and it cancels. Where each
// condition has days of its own the mean of a day is one seating. One day for each tells nothing of days:
// the change is then not known, unless Config.Day states how much a day brings.
//
// # Bands
//
// Curve.HalfWidth is Student's interval at one frequency that was named beforehand. Simultaneous holds
// the whole curve over the band, so that a curve that did not change passes out of it anywhere in 5 % of
// comparisons. With t(f) = d(f)/u(f), u² being the larger of the variance there and of its mean over a
// quarter of an octave to either side, the half width is q·u(f), q the larger of
//
//	the 96 % quantile of the largest |t| of 1,000 drawn curves that hang together along frequency as the
//	seatings' own scatter does, of which a hundredth is kept for that being an estimate, and
//	the largest |t| that no more than 5 % of all relabellings of the seatings pass, where these are 20 or
//	more (from 3 + 4 seatings, or from 6 pairs): whatever the scatter looks like, as many are as likely.
//
// One degree of freedom, as of two pairs, does not tell how errors hang together; then q is Student's quantile for six
// places an octave (Bonferroni). Of several comparisons each has its share of the 5 %.
//
// # No change
//
// That no change is larger than a margin is said by two one-sided tests at every frequency: the largest
// |d| + t_0.95 u is the largest change that is left possible. Each test may be wrong in 5 % of cases, and
// since all of them have to agree, so are they together.
//
// # Several conditions
//
// Figures of independent seatings in several conditions are told apart by Tukey's and Kramer's test of all
// pairs, or by Dunnett's of all against one, their scatter pooled; other designs by Bonferroni. Two
// conditions of which no figure and no stretch of the curve changed are tied.
package change
