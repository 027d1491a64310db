package smoothing

import (
	"fmt"
	"math"
)

// Constants of Glasberg & Moore, "Derivation of auditory filter shapes from notched-noise data",
// Hearing Research 47, 103–138, 1990.
const (
	erbAtZero = 24.7    // Hz
	erbGrowth = 4.37e-3 // per Hz
)

// ERBWidth returns the equivalent rectangular bandwidth, in Hz, of the auditory filter centred on f
// Hz in young listeners with normal hearing at moderate levels: 24.7 (4.37 f/1000 + 1), Glasberg &
// Moore 1990. It was fitted from 100 Hz to 10 kHz (from memory) and is an extrapolation outside.
// NaN if f is negative or NaN.
func ERBWidth(f float64) float64 {
	if !(f >= 0) {
		return math.NaN()
	}
	return erbAtZero * (erbGrowth*f + 1)
}

// NewERB plans auditory smoothing: the value at f is the mean over a band factor · [ERBWidth](f) Hz
// wide. A factor of 1 is the bandwidth of one place on the basilar membrane. The grid and the
// errors are as for [NewOctave].
//
// The band is geometrically centred on f, with edges low·high = f²:
//
//	high = w/2 + √(f² + w²/4), low = f²/high, w = factor · ERBWidth(f)
//
// This keeps a slope in dB per octave exactly, as an octave band does, and the lower edge above 0
// Hz at any f; with an arithmetic centre it would be −3 Hz at 10 Hz. At 1 kHz the two differ by 2.2
// Hz in 133 Hz.
func NewERB(frequency, centre []float64, factor float64) (*Plan, error) {
	if !(factor > 0) || math.IsInf(factor, 1) {
		return nil, fmt.Errorf("smoothing: factor: %w: %v equivalent rectangular bandwidths; "+
			"the factor must be finite and above 0",
			ErrWidth, factor)
	}
	return newPlan(frequency, centre, func(c float64) (low, high float64) {
		w := factor * ERBWidth(c)
		high = w/2 + math.Hypot(c, w/2)
		return c * (c / high), high
	})
}
