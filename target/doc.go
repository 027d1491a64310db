// Package target judges a response against a target curve: how far it deviates, what it is good
// for, and how pairs of headphones rank. Every figure has its uncertainty, and an answer may be
// "cannot tell".
//
// A [Target] is a curve with a tolerance: flat, read from a file, made of tilts, shelves and peaks,
// another pair measured on the same rig, or the mean of several. [Compare] compares a response with
// it and returns the [Deviation]: the difference as a curve, and the figures that sum it up.
//
// # What is computed
//
// With x = log2 f, the response c(x) and the target t(x), both in dB, and weights w(x) ≥ 0 per
// octave, every figure is an integral over the known part of the judged band B, divided by ∫w dx:
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
// Between its points a curve is a straight line in dB against x, as [response.Curve.At] has it. The
// integrals are taken over these straight lines and not over the points, so that no figure depends
// on how densely, or how evenly, the points lie: a tilt of s dB per octave over B octaves has an
// rms of exactly |s|·B/√12. The band is cut wherever one of the two curves or the tolerance has a
// point, and where d crosses zero or the tolerance, and each piece is integrated by two-point Gauss
// quadrature, which is exact for the square of a straight line. What remains is that straight lines
// cut across the curve that was measured: a ripple of a·cos(2πx/P) sampled every h octaves has an
// rms of a/√2 times √((2 + cos(2πh/P))/3), 0.14 % low for P = 1 and h = 1/48.
//
// # How sure the figures are
//
// A curve carries the causes of its uncertainty as components (see [response.CurveComponent]). Each
// component is a cause, such as the scatter of the seatings or the calibration of the microphone,
// and a set of curves: the effects e of its independent parts by one standard uncertainty.
// Components that the response and the target share cancel. [CompareSeatings] makes such a curve
// from one for each time the pair was put on: a seating's difference from the mean is one effect,
// (c_i − mean)/√(n(n−1)). So the correlation of a seating's errors along frequency need not be
// known.
//
// Offset, tilt, the means of bands and the level at one place are linear in d: an effect changes
// them by g(e), the squares add up (JCGM 100:2008, 5.1.2), and the degrees of freedom are Welch's
// and Satterthwaite's.
//
// The rms deviation, ripple, and the rms of a band are roots of a mean square q. Noise adds Σ∫e² to
// it, which is subtracted, so that q is unbiased. Its variance is V = Σ(2∫d e)² + 2T, with T the
// trace of the square of the covariance of the errors. The interval is √(q ± t √V), with 0 for a
// negative q − t √V. The mean absolute deviation has the interval of the rms, in proportion. The
// share within tolerance is a count: the effects are drawn at random (JCGM 101:2008), and the
// interval lies between quantiles of the draws, and reaches as far above the reading as below it.
//
// Of 4,000 drawn sessions a line, with seatings whose scatter is normal, skewed or of few causes,
// the 95 % intervals of tilt held the truth in 94 to 95 %; of rms and ripple in 94 to 99.7 %, more
// than 97 % where the deviation is as small as the noise and there are no more than three seatings;
// of the mean absolute deviation in 92 to 99 %; of the share in 96 to 99 %. The largest deviation
// has the interval of the level at its place: where several peaks are nearly as high, the highest
// reading is likely too high.
//
// # What follows
//
// [Use] and [Decide] turn figures into yes, no and cannot tell. [Rank] orders pairs and says which
// of them this measurement cannot separate. Package claim compares data sheets with measurements,
// package correction fits filters, and package review does the whole job.
//
// # What is not known
//
// NaN means not known. Where the response or the target is not known, nothing is judged, and
// [Deviation.Coverage] and [Deviation.Warnings] say how much is missing.
package target
