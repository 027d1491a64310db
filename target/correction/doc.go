// Package correction fits a few gentle equaliser filters that bring a pair of headphones nearer to
// a target. It states the deviation to expect with them, and the gain that has to precede them.
//
// [Fit] chooses peaking and shelving filters of the Audio EQ Cookbook (R. Bristow-Johnson; W3C
// Group Note, 8 June 2021) under limits on number, gain, Q and frequency. It returns them with the
// gain that has to precede them and the deviation before and after. [Filter.Coefficients] are for
// any sample rate.
//
// # How they are found
//
// The filters' levels in dB add up, and their sum, up to a constant, should be the target less the
// response. Fit adds one filter after another where it removes most of the residual, and after each
// one refines all together: least squares over log frequency by Newton's method with the
// Gauss–Newton Hessian, parameters kept within their limits by a logistic map. Then it tries each
// filter somewhere else. A filter that does not reduce the rms deviation by Config.MinImprovement
// is left out.
//
// # What is not corrected
//
// A narrow dip is the sum of two waves that cancel: filling it takes much gain, and
// moves with the head. Dips narrower than a quarter of an octave and deeper than
// 3 dB are left out of the fit. Nor does a filter undo distortion, leaks, or
// differences between two ways of putting the pair on: a response above some
// 10 kHz holds for one position only, and the usual limits leave it alone.
//
// A boost makes the pair louder in that range: turn down first, and up by ear.
package correction
