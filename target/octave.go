package target

import (
	"example.com/earnest/smoothing"
)

// OctaveDeviation is the deviation in one octave band of IEC 61260-1, with its exact edges.
type OctaveDeviation struct {
	// Nominal is the frequency in Hz that labels the band: 31.5, 63, 125.
	Nominal float64
	RegionDeviation
}

// edges returns the frequencies at which the bands meet.
func edges(bands []smoothing.Band) []float64 {
	at := make([]float64, 0, len(bands)+1)
	for _, b := range bands {
		at = append(at, b.Low, b.High)
	}
	return at
}
