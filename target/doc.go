// Package target judges a response against a target curve: how far it deviates, what it is good for,
// and how pairs of headphones rank. Every figure has its uncertainty, and an answer may be "cannot
// tell".
//
// A [Target] is a curve with a tolerance: flat, read from a file, made of tilts,
// shelves and peaks, another pair measured on the same rig, or the mean of several.
// [Compare] lays a response on it and returns
// the [Deviation]: the difference as a curve, and the figures that sum it up.
//
// # What is computed
//
// With x = log2 f, the response c(x) and the target t(x), both in dB, and
// weights w(x) ≥ 0 per octave, every figure is an integral over what is known
// of the judged band B, divided by ∫w dx:
//
//	difference         d(x) = c(x) − t(x) + offset
//	offset             least ∫w d² dx, which is −∫w (c − t) dx / ∫w dx, unless another alignment is asked for
//	rms                √(∫w d² dx / ∫w dx)
//	mean absolute      ∫w |d| dx / ∫w dx
//	tilt               slope of the weighted straight line through d(x), dB per octave
//	ripple             rms of d about that line
//	share              ∫w dx where d is within tolerance / ∫w dx
//	mean, rms of a band  the same over an octave or a region of the band
//
// Between its points a curve is a straight line in dB against x, as
// [response.Curve.At] has it. The integrals are taken over these straight lines
// and not over the points, so that no figure depends on how densely, or how
// evenly, the points lie: a tilt of s dB per octave over B octaves has an rms
// of exactly |s|·B/√12. The band is cut wherever one of the two curves or the
// tolerance has a point, and where d crosses zero or the tolerance, and each
// piece is integrated by two-point Gauss quadrature, which is exact for the
// square of a straight line. What remains is that straight lines cut across
// the curve that was measured: a ripple of a·cos(2πx/P) sampled every h octaves
// has an rms of a/√2 times √((2 + cos(2πh/P))/3), 0.14 % low for P = 1 and h = 1/48.
//
// # How sure the figures are
//
// [CompareSeatings] takes a curve for each time the pair was put on the rig. Errors
// at neighbouring frequencies of one seating go together, over widths that nobody
// knows. So the errors are not taken frequency by frequency: each seating's
// distance from the mean, as a whole curve, is one effect, e_i = (c_i − mean)/√(n(n−1)),
// and so is each cause of error in a calibration or a target (see [UncertaintyComponents]). With a
// figure g,
//
//	u²(g) = Σ ((g(d + e) − g(d − e))/2)²
//
// over all effects (JCGM 100:2008, 5.1.3). For a figure that is linear in the curve,
// such as a tilt or a mean, the seatings' part is the variance of the mean of the
// single seatings' figures, and Student's t with n − 1 degrees of freedom is exact
// for normal errors. Parts with different degrees of freedom are put together by
// Welch and Satterthwaite.
//
// What scatters adds to a mean square, and to a mean absolute value: the figure that
// is reported has Σ (g(d + e) + g(d − e))/2 − g(d) taken off. For a mean square this
// makes it unbiased. Share and largest deviation are left as read. The share is a
// count, which no slope describes, so its uncertainty is drawn from the effects (JCGM
// 101:2008). The uncertainty of the widest is that of the level at its place: where
// several peaks are nearly as high, the highest reading is likely too high.
//
// In simulated sessions of three to eight seatings the 95 % intervals of rms, tilt,
// means of octaves and differences in a ranking held the truth in 93–97 % of cases,
// those of the share in 89–100 %, and those of the largest deviation in 91–96 %. Where the
// deviation is smaller than the noise of its mean, those of the rms did so in
// 89–97 %, and those of the mean absolute deviation are too narrow.
//
// # What follows
//
// [Use] and [Decide] turn figures into yes, no and cannot tell, and [Rank] orders pairs and says which
// of them this measurement cannot separate. Package claim compares data sheets with what was measured,
// package correction fits filters, and package review does the whole job.
//
// # What is not known
//
// NaN means not known. Where the response or the target is not known, nothing
// is judged, and [Deviation.Coverage] and [Deviation.Warnings] say how much is
// missing.
package target
