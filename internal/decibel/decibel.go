// Package decibel converts amplitudes and powers to levels, and levels back.
package decibel

import "math"

// PerNeper is 20/ln 10: a small relative change of an amplitude times PerNeper is its change in dB.
// The relative change of a power takes half of it.
const PerNeper = 20 / math.Ln10

// OfAmplitude returns 20 log10(a), in dB. It is NaN unless a > 0: an amplitude of zero has no
// level.
func OfAmplitude(a float64) float64 {
	if !(a > 0) {
		return math.NaN()
	}
	return 20 * math.Log10(a)
}

// OfPower returns 10 log10(p), in dB. It is NaN unless p > 0: a power of zero has no level.
func OfPower(p float64) float64 {
	if !(p > 0) {
		return math.NaN()
	}
	return 10 * math.Log10(p)
}

// Amplitude returns the ratio of amplitudes for a level in dB, 10^(level/20).
func Amplitude(level float64) float64 { return math.Pow(10, level/20) }

// Power returns the ratio of powers for a level in dB, 10^(level/10).
func Power(level float64) float64 { return math.Pow(10, level/10) }
