package target

import (
	"fmt"

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
	Mean, RMS Figure
	// Coverage is the part of the band's octave, 0 to 1, that was asked for and
	// in which the deviation is known.
	Coverage float64
}

// Partial tells whether the figures stand for a part of the band only.
func (o OctaveDeviation) Partial() bool { return o.Coverage > 0 && o.Coverage < 1-rounding }

// String writes the band as a line of a table would: "1 kHz: mean +0.31 dB, rms 0.52 dB".
func (o OctaveDeviation) String() string {
	label := response.FormatFrequency(o.Nominal)
	if !o.Mean.Known() {
		return label + ": not known"
	}
	part := ""
	if o.Partial() {
		part = fmt.Sprintf(" (%.0f %% of the band)", 100*o.Coverage)
	}
	return fmt.Sprintf("%s: mean %+.2f dB, rms %.2f dB%s", label, o.Mean.Value, o.RMS.Value, part)
}

// byOctave sums up the readings in each band. The band edges must be cuts.
func byOctave(bands []smoothing.Band, readings []reading) []OctaveDeviation {
	out := make([]OctaveDeviation, len(bands))
	for i, b := range bands {
		n := 0
		for n < len(readings) && readings[n].f < b.High {
			n++
		}
		s := sumUp(readings[:n])
		readings = readings[n:]
		band := response.Band{Low: b.Low, High: b.High}
		out[i] = OctaveDeviation{
			Nominal:  b.Nominal,
			Band:     band,
			Mean:     figure(s.mean, "dB"),
			RMS:      figure(s.rms, "dB"),
			Coverage: min(s.octaves/band.Octaves(), 1),
		}
	}
	return out
}

// edges returns the frequencies at which the bands meet.
func edges(bands []smoothing.Band) []float64 {
	at := make([]float64, 0, len(bands)+1)
	for _, b := range bands {
		at = append(at, b.Low, b.High)
	}
	return at
}
