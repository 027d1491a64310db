// Package speech has the importance of the third octaves for the intelligibility of speech.
package speech

import "slices"

// Importance returns the nominal midbands in Hz of the third octaves from 160 Hz to 8 kHz, and the
// share of each in the intelligibility of average speech: the band importance function of ANSI
// S3.5-1997, table 3 (from memory). The shares sum to 1. The slices are the caller's.
func Importance() (nominal, share []float64) { return slices.Clone(midbands), slices.Clone(shares) }

var (
	midbands = []float64{
		160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000, 6300, 8000,
	}
	shares = []float64{
		.0083, .0095, .0150, .0289, .0440, .0578, .0653, .0711, .0818,
		.0844, .0882, .0898, .0868, .0844, .0771, .0527, .0364, .0185,
	}
)
