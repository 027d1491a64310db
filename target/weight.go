package target

import (
	"fmt"
	"math"

	"example.com/earnest/response"
	"example.com/earnest/smoothing"
)

// Weight says how much an octave about f Hz counts. Only ratios matter; weights
// are zero or more, and where they are zero nothing is judged. A step in the
// weight is placed to within 1/24 octave.
type Weight func(f float64) float64

// PerOctave lets every octave count the same.
func PerOctave(float64) float64 { return 1 }

// PerERB lets every equivalent rectangular bandwidth of the auditory filter
// count the same: an octave about f counts as f ln 2 / [smoothing.ERBWidth](f).
// It gives the bass less to say: at 50 Hz an octave counts 22 % of one at 1 kHz.
// Glasberg & Moore, Hearing Research 47, 1990.
func PerERB(f float64) float64 { return f * math.Ln2 / smoothing.ERBWidth(f) }

// at returns the weight at f, or an error that says what is wrong with it.
func (w Weight) at(f float64) (float64, error) {
	v := w(f)
	if !(v >= 0) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("the weight at %s is %v; weights are finite and zero or more", response.FormatFrequency(f), v)
	}
	return v, nil
}
