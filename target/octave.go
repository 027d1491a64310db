package target

import (
	"example.com/earnest/response"
	"example.com/earnest/smoothing"
)

// OctaveDeviation is the deviation in one octave band of IEC 61260-1.
type OctaveDeviation struct {
	// Nominal is the frequency in Hz that labels the band: 31.5, 63, 125.
	Nominal float64
	// Band holds the exact edges.
	Band response.Band
	// Mean and RMS of the aligned deviation in the band, in dB; not known in a
	// band without data, or where all weights are zero.
	Mean, RMS response.Figure
	// Coverage is the part of the band's octave, 0 to 1, that was asked for and
	// in which the deviation is known.
	Coverage float64
	// Weight is the part of all weight that lies in it, 0 to 1.
	Weight float64
}

// Partial tells whether the figures stand for a part of the band only.
func (o OctaveDeviation) Partial() bool { return o.Coverage > 0 && o.Coverage < 1-rounding }

// String writes the band as a line of a table would: "1 kHz: mean +0.31 dB, rms 0.52 dB".
func (o OctaveDeviation) String() string {
	return RegionDeviation{Mean: o.Mean, RMS: o.RMS, Coverage: o.Coverage}.line(response.FormatFrequency(o.Nominal))
}

// edges returns the frequencies at which the bands meet.
func edges(bands []smoothing.Band) []float64 {
	at := make([]float64, 0, len(bands)+1)
	for _, b := range bands {
		at = append(at, b.Low, b.High)
	}
	return at
}
