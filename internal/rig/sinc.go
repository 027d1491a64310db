package rig

import "example.com/earnest/internal/interpolate"

// The sinc between samples has sincHalf zero crossings on each side, under a Kaiser window of 100
// dB. It is flat to 0.46 of the sample rate.
const sincHalf = 40

var sincBeta = interpolate.Beta(100)

// sincLowPass returns a filter of half taps on each side of the middle, with a sum of 1: a sinc of
// a cut-off in cycles per sample, under a Kaiser window for an attenuation in dB.
func sincLowPass(cutoff float64, half int, attenuation float64) []float64 {
	taps, sum, beta := make([]float64, 2*half+1), 0.0, interpolate.Beta(attenuation)
	for i := range taps {
		n := float64(i - half)
		taps[i] = interpolate.Sinc(2*cutoff*n) * interpolate.Kaiser(n/float64(half+1), beta)
		sum += taps[i]
	}
	for i := range taps {
		taps[i] /= sum
	}
	return taps
}
