package smoothing

import (
	"errors"
	"fmt"
	"math"
)

// ErrWidth is wrapped by every error about the width of a band.
var ErrWidth = errors.New("not a usable bandwidth")

// NewOctave plans smoothing over 1/fraction of an octave on the given grid: the value at f is the
// mean over [f·2^(−1/(2·fraction)), f·2^(+1/(2·fraction))]. 3 means a third of an octave and 0.5
// two octaves; any positive number is allowed.
//
// Frequencies are in Hz, strictly ascending, finite and above zero. A leading 0 Hz, as in the grid
// of a Fourier transform, is skipped, since it has no logarithm: its value is not read, and the
// output there is NaN. Otherwise the error wraps [ErrGrid], or [ErrWidth] for a bad fraction. The
// slice is copied.
//
// A ripple over log f with a period of P octaves is attenuated by sin(πx)/(πx), x = 1/(fraction·P),
// the transform of a rectangular window. Steady noise averaged over N bins in the band scatters by
// 1/√N of its power.
//
// These octaves are of base two, as on a plot's axis; the bands of a standard analyser are of base
// 10^(3/10), see [Bands], 0.34 % narrower.
//
// The output is at centre: frequencies in Hz, finite and not negative, in any order; nil means the
// grid itself. A centre outside the grid gives NaN.
func NewOctave(frequency, centre []float64, fraction float64) (*Plan, error) {
	if !(fraction > 0) || math.IsInf(fraction, 1) {
		return nil, fmt.Errorf("smoothing: fraction: %w: 1/%v octave; "+
			"the fraction must be finite and above 0, such as 3 for a third of an octave",
			ErrWidth, fraction)
	}
	half := math.Exp2(1 / (2 * fraction))
	return newPlan(frequency, centre, func(c float64) (low, high float64) {
		return c / half, c * half
	})
}
