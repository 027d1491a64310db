// Package change says whether something changed: one pair in several conditions, before and after
// twenty hours of playing, with other pads, with glasses, with noise cancelling on. It says at
// which frequencies and by how much. If it finds no change, it says how large a change can still
// be, or that it cannot tell. It also says how much specimens of one model differ, and how many
// seatings a comparison needs.
//
// [Compare] takes the seatings in the order in which they were measured, each with its condition:
//
//	changes, err := change.Compare(seatings, change.Config{Random: true})
//	fmt.Println(&changes[0])
//
// # How conditions are compared
//
// Seatings of two conditions are of one of four designs. They are independent; or paired, if both
// conditions were measured in one placement (as with a switch that is operated without lifting the
// pair); or in turn, A B A B, with the drift removed; or of several days. The difference is the
// least-squares estimate in
//
//	y = condition + placement or day + drift · order + e,
//
// at every frequency, and the scatter is that of the residuals. The paired and the unpaired t-test
// are the simple cases. The errors that both conditions share cancel, such as those of microphone,
// coupler and direct recording; no others do.
//
// Independent seatings, and those in turn, may scatter more in one condition than in another. At a
// frequency where the variances of two conditions, over an octave to either side, differ by more
// than twice (of more conditions, four times), each has its own scatter and the intervals are
// Welch's; elsewhere the scatter is that of all seatings. Seat both conditions equally often: if
// two seatings of one scatter three times as much as six of the other, nothing shows it, and 8 to 9
// % of unchanged pairs were called changed.
//
// If the conditions were measured on the same days, the effects of the days cancel. If each
// condition has days of its own, the mean of a day counts as one seating. One day for each
// condition gives no estimate of the scatter between days: the change is then not known, unless
// Config.Day states that scatter.
//
// # Bands
//
// Curve.HalfWidth is Student's interval at one frequency that was chosen beforehand. The band of
// Simultaneous contains the whole true difference: it fails to do so at one frequency or more in 5
// % of comparisons. Let d be the difference and u² the larger of its variance at a frequency and of
// the mean variance over a quarter of an octave to either side. With t = d/u the half width is q·u,
// and q is the larger of
//
//	the 96 % quantile of the largest |t| of 1,000 drawn curves with the same correlation along
//	frequency as the scatter of the seatings, and the same shares of the conditions in it (96 and not
//	95, because these are estimated), and
//	the |t| that is exceeded in no more than 5 % of all relabellings of the seatings, if there are 20
//	relabellings or more (from 3 + 4 seatings, or from 6 pairs). This holds for any scatter.
//
// One degree of freedom, as from two pairs, gives no estimate of the correlation. Then q is
// Student's quantile for six frequencies an octave (Bonferroni). The 5 % are divided among several
// comparisons.
//
// # No change
//
// Two one-sided tests at every frequency decide whether a change larger than a margin is excluded.
// The largest |d| + t_0.95 u is the largest change that they do not exclude. Each test may be wrong
// in 5 % of cases. All of them have to agree, so the decision is wrong in 5 % of cases at most.
//
// # Several conditions
//
// For independent seatings in several conditions the figures are
// compared by Tukey's and Kramer's test of all pairs, or by Dunnett's of all against one. Other
// designs use Bonferroni's correction. Two conditions are tied if no figure and no part of the
// curve changed.
package change
