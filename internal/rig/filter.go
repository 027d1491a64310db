package rig

import (
	"slices"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/decibel"
)

// Filter is a second-order filter of the Audio EQ Cookbook (W3C Group Note, 8 June 2021) before its
// sample rate is known. The functions below make one; the zero Filter changes nothing. Its methods
// panic unless the frequency is between 0 and half the sample rate and Q is above 0.
type Filter struct {
	shape              biquad.Shape
	frequency, q, gain float64 // Hz; of the cookbook; dB, of peaks and shelves
}

// Peak raises (or lowers, if gain is below 0) the levels around f Hz by gain dB.
func Peak(f, q, gain float64) Filter { return Filter{biquad.Peaking, f, q, gain} }

// LowShelf raises the levels below f Hz by gain dB, and by half of it at f.
func LowShelf(f, q, gain float64) Filter { return Filter{biquad.LowShelf, f, q, gain} }

// HighShelf raises the levels above f Hz by gain dB, and by half of it at f.
func HighShelf(f, q, gain float64) Filter { return Filter{biquad.HighShelf, f, q, gain} }

// LowPass falls by 12 dB per octave above f Hz, where its gain is Q.
func LowPass(f, q float64) Filter { return Filter{biquad.LowPass, f, q, 0} }

// HighPass falls by 12 dB per octave below f Hz, where its gain is Q.
func HighPass(f, q float64) Filter { return Filter{biquad.HighPass, f, q, 0} }

// AllPass turns the phase by a whole turn around f Hz and leaves the level.
func AllPass(f, q float64) Filter { return Filter{biquad.AllPass, f, q, 0} }

// Response returns the complex response at f Hz, for a sample rate in Hz.
func (c Filter) Response(f, sampleRate float64) complex128 {
	return chain(sampleRate, []Filter{c}).Response(f, sampleRate)
}

// chain designs filters for a sample rate in Hz.
func chain(sampleRate float64, filters ...[]Filter) biquad.Chain {
	var c biquad.Chain
	for _, f := range slices.Concat(filters...) {
		if f != (Filter{}) {
			c = append(c, biquad.New(f.shape, f.frequency, f.q, f.gain, sampleRate))
		}
	}
	return c
}

// factor returns the amplitude factor of a level in dB.
func factor(level float64) float64 { return decibel.Amplitude(level) }
