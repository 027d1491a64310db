// Package target judges a response against what it should have been.
//
// A [Target] is a curve with a tolerance: flat, read from a file, or another
// pair measured on the same rig. [Compare] lays a response on it and returns
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
// # What is not known
//
// NaN means not known. Where the response or the target is not known, nothing
// is judged, and [Deviation.Coverage] and [Deviation.Warnings] say how much is
// missing.
package target
