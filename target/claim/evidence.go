package claim

import (
	"math"
	"slices"

	"example.com/earnest/response"
	"example.com/earnest/target"
)

// Evidence holds the measurements. A claim that needs a missing measurement cannot be decided here.
type Evidence struct {
	target.Evidence
	// Microphone is the band in which the microphone is known, and SampleRate that of the
	// recordings in Hz. They tell why a response ends where it does; zero means not stated.
	Microphone response.Band
	SampleRate int

	Loudest []LoudestLevel
	// Sensitivity is in [PerMilliwatt] or [PerVolt].
	Sensitivity []FigureAt
	// Readings holds the readings for AtMost claims, of the worse side.
	Readings map[Quantity][]ReadingAt
	// Polarity is that of each side: near 1 positive, near −1 negative.
	Polarity []response.Figure
	// Impedance is its magnitude in Ω.
	Impedance []FigureAt
}

// impedanceAt returns the impedance that was measured nearest to a frequency.
func (e Evidence) impedanceAt(f float64) FigureAt {
	return least(known(e.Impedance, f), func(z FigureAt) float64 { return math.Abs(math.Log2(z.Frequency / f)) })
}

// FigureAt is a figure that was measured at a frequency in Hz.
type FigureAt struct {
	Frequency float64 // Hz
	response.Figure
}

// LoudestLevel is the highest level, in dB SPL, that was reached with no more than a stated
// distortion.
type LoudestLevel struct {
	FigureAt
	// Percent is the limit of total harmonic distortion, relative to the fundamental, that was not
	// exceeded.
	Percent float64
	// Limited reports that a higher level was tried, and exceeded Percent. Otherwise nothing higher
	// was tried, and the pair may well reach more.
	Limited bool
}

// none returns a figure that was not measured.
func none(unit string) FigureAt { return FigureAt{math.NaN(), response.NotKnown(unit)} }

// sameFrequency reports whether a measurement at one frequency holds for a claim at another: within
// 1/12 octave, or always if the claim states none.
func sameFrequency(measured, claimed float64) bool {
	return claimed == 0 || math.Abs(math.Log2(measured/claimed)) <= 1./12+1e-9
}

// known returns the figures that are known at a frequency.
func known(all []FigureAt, f float64) []FigureAt {
	return slices.DeleteFunc(slices.Clone(all),
		func(m FigureAt) bool { return !m.Known() || !sameFrequency(m.Frequency, f) })
}

// least returns the element with the smallest known number, or the zero value for an empty slice.
func least[T any](all []T, number func(T) float64) T {
	var found T
	low := math.NaN()
	for i, v := range all {
		if x := number(v); i == 0 || !(x >= low) && !math.IsNaN(x) {
			found, low = v, x
		}
	}
	return found
}
