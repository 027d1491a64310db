package rig

import (
	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/decibel"
)

// Filter is a second-order filter of the Audio EQ Cookbook (W3C Group Note, 8
// June 2021), not yet bound to a sample rate: it is made by one of the functions
// below, and the zero Filter changes nothing. Where it is used, it panics
// unless its frequency lies between 0 and half the sample rate and Q above 0.
type Filter struct {
	frequency float64 // Hz
	q         float64
	gain      float64 // dB, of peaks and shelves
	kind      kind
}

type kind int

const (
	nothing kind = iota
	peak
	lowShelf
	highShelf
	lowPass
	highPass
	allPass
)

// Peak raises (or, gain below 0, dips) the neighbourhood of f Hz by gain dB.
func Peak(f, q, gain float64) Filter { return Filter{f, q, gain, peak} }

// LowShelf raises what is below f Hz by gain dB; half of it at f.
func LowShelf(f, q, gain float64) Filter { return Filter{f, q, gain, lowShelf} }

// HighShelf raises what is above f Hz by gain dB; half of it at f.
func HighShelf(f, q, gain float64) Filter { return Filter{f, q, gain, highShelf} }

// LowPass falls by 12 dB per octave above f Hz, where it passes Q.
func LowPass(f, q float64) Filter { return Filter{f, q, 0, lowPass} }

// HighPass falls by 12 dB per octave below f Hz, where it passes Q.
func HighPass(f, q float64) Filter { return Filter{f, q, 0, highPass} }

// AllPass turns the phase by a whole turn around f Hz and leaves the level.
func AllPass(f, q float64) Filter { return Filter{f, q, 0, allPass} }

// Response is the complex response at f Hz at a sample rate in Hz.
func (c Filter) Response(f, sampleRate float64) complex128 {
	return c.at(sampleRate).Response(f, sampleRate)
}

// at designs the filter for a sample rate in Hz.
func (c Filter) at(sampleRate float64) biquad.Filter {
	switch c.kind {
	case peak:
		return biquad.New(biquad.Peaking, c.frequency, c.q, c.gain, sampleRate)
	case lowShelf:
		return biquad.New(biquad.LowShelf, c.frequency, c.q, c.gain, sampleRate)
	case highShelf:
		return biquad.New(biquad.HighShelf, c.frequency, c.q, c.gain, sampleRate)
	case lowPass:
		return biquad.New(biquad.LowPass, c.frequency, c.q, 0, sampleRate)
	case highPass:
		return biquad.New(biquad.HighPass, c.frequency, c.q, 0, sampleRate)
	case allPass:
		return allPassAt(c.frequency, c.q, sampleRate)
	}
	return biquad.Filter{B0: 1}
}

// allPassAt is the cookbook's APF: the denominator of its other filters, and
// the same backwards above it.
func allPassAt(f, q, sampleRate float64) biquad.Filter {
	d := biquad.New(biquad.LowPass, f, q, 0, sampleRate)
	return biquad.Filter{B0: d.A2, B1: d.A1, B2: 1, A1: d.A1, A2: d.A2}
}

// chain designs filters for a sample rate.
func chain(sampleRate float64, filters ...[]Filter) biquad.Chain {
	var c biquad.Chain
	for _, list := range filters {
		for _, f := range list {
			if f.kind != nothing {
				c = append(c, f.at(sampleRate))
			}
		}
	}
	return c
}

// factor is the amplitude factor of a level in dB.
func factor(level float64) float64 { return decibel.Amplitude(level) }
