package programme

import (
	"math"

	"example.com/earnest/response"
)

// Bass is the extension and the level of the low end.
type Bass struct {
	// Extension is the frequency in Hz below which the difference lies more than 10 dB under its
	// mean from 200 Hz to 2 kHz. Deeper reports that no such frequency was found: Extension is then
	// the lowest frequency known, and the response may extend further down, because the material
	// has no more bass or is too short.
	Extension response.Figure
	Deeper    bool
	// Level is the mean difference from 22 to 89 Hz relative to that from 200 Hz
	// to 2 kHz, in dB.
	Level response.Figure
}

// extensionDrop is the level in dB, relative to the middle, that ends the extension.
const extensionDrop = -10.0

// lowEnd computes Comparison.Bass from the result in third octaves.
func lowEnd(bands []BandLevel) Bass {
	middle, bass := meanOver(bands, response.Band{Low: 190, High: 2100}), meanOver(bands, response.Band{Low: 22, High: 89})
	out := Bass{Level: response.Figure{Value: bass.Value - middle.Value,
		Uncertainty: math.Hypot(bass.Uncertainty, middle.Uncertainty), Unit: "dB"}}
	out.Extension, out.Deeper = extension(bands, middle.Value)
	return out
}

// extension goes down from 200 Hz to the frequency at which the difference is 10 dB below the
// middle, interpolated between the bands.
func extension(bands []BandLevel, middle float64) (f response.Figure, deeper bool) {
	f = response.NotKnown("Hz")
	var last BandLevel
	for i := len(bands) - 1; i >= 0; i-- {
		b := bands[i]
		if b.Centre > 210 {
			continue
		}
		if !b.Known || math.IsNaN(middle) {
			break
		}
		if fall := b.Difference - middle - extensionDrop; fall < 0 {
			if last.Known {
				x := fall / (b.Difference - last.Difference)
				octaves := math.Log2(last.Centre / b.Centre)
				f.Value = b.Centre * math.Exp2(x*octaves)
				slope := math.Abs(last.Difference-b.Difference) / octaves // dB per octave
				f.Uncertainty = f.Value * math.Ln2 * math.Hypot(b.Uncertainty, last.Uncertainty) / slope
			}
			return f, false
		}
		last = b
	}
	if last.Known {
		f.Value, f.Uncertainty = last.Low, 0
		return f, true
	}
	return f, false
}
