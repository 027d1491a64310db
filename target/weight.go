package target

import (
	"fmt"
	"math"

	"example.com/earnest/internal/speech"
	"example.com/earnest/response"
	"example.com/earnest/smoothing"
)

// weight is that of an octave about f Hz.
type weight func(f float64) float64

// speechImportance is the share of each third octave from 160 Hz to 8 kHz.
var speechImportance = func() []float64 {
	_, share := speech.Importance()
	return share
}()

// thirdOctaveEdges are the frequencies in Hz at which a weight by bands has its steps.
var thirdOctaveEdges = func() []float64 {
	bands, err := smoothing.Bands(3, 20, 20000)
	if err != nil {
		panic(err) // the band is a constant
	}
	return edges(bands)
}()

// at returns the weight at f, or an error that says what is wrong with it.
func (w weight) at(f float64) (float64, error) {
	v := w(f)
	if !(v >= 0) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("the weight at %s is %v; weights are finite and zero or more", response.FormatFrequency(f), v)
	}
	return v, nil
}

// PerOctave gives every octave the same weight.
func PerOctave(float64) float64 { return 1 }

// PerERB gives every equivalent rectangular bandwidth of the auditory filter the same weight: an
// octave about f has the weight f ln 2 / [smoothing.ERBWidth](f). The bass has less weight: an
// octave at 50 Hz counts 22 % of one at 1 kHz. Glasberg & Moore, Hearing Research 47, 1990.
func PerERB(f float64) float64 { return f * math.Ln2 / smoothing.ERBWidth(f) }

// SpeechImportance weighs each third of an octave from 160 Hz to 8 kHz by its contribution to the
// intelligibility of average speech, by the band importance function of ANSI S3.5-1997, table 3
// (from memory). Other frequencies have no weight. Within a band every part has the same weight.
func SpeechImportance(f float64) float64 {
	// Bands are numbered from the one about 160 Hz, 10^0.1 wide each.
	band := int(math.Floor(10*math.Log10(f/1000)+0.5+1e-9)) + 8
	if band < 0 || band >= len(speechImportance) {
		return 0
	}
	return speechImportance[band] / (0.1 * math.Log2(10))
}
