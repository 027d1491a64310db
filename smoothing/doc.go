// Package smoothing averages a curve over fractional octaves or auditory bands (equivalent
// rectangular bandwidths), as wide as hearing resolves them. It also has the standard bands of IEC
// 61260-1 and the A weighting of IEC 61672-1.
//
// # What a smoothed value is
//
// The value at f is the mean of the curve over a band [f/r, f·r]. The curve is the one a plot
// shows, straight between grid points over the logarithm of frequency x = ln f, and the mean is
// taken over x:
//
//	s(f) = 1/(2 ln r) ∫ y(x) dx   from ln f − ln r to ln f + ln r
//
// So a point well inside the band counts by the cell between the geometric means with its
// neighbours, and where the band's edge falls between two points the partial cell is integrated
// exactly.
//
// # Why the logarithm
//
// The plain mean of the bins of a Fourier transform counts every hertz alike: over one octave the
// upper half-octave has 59 % of the bins, and a curve that falls by 10 dB per octave comes out 0.57
// dB too low. The answer would also depend on the grid. Over the logarithm of frequency a linear
// grid and a logarithmic one give the same answer, as far as both resolve the curve, and
// [Plan.Mean] of levels keeps a slope in dB per octave exactly, on any grid.
//
// # Where nothing is known
//
// Near an end of the grid, or of a run of known values, the band shrinks equally on both sides (in
// ratio of frequency). A slope is not bent there, nothing is extrapolated, and the very last point
// keeps its own value. NaN means not known: NaN at the centre, or a centre outside the grid, gives
// NaN. A value that is infinite or beyond 1e300 in magnitude counts as not known.
package smoothing
