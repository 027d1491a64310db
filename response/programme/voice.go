package programme

import (
	"math"

	"example.com/earnest/internal/speech"
	"example.com/earnest/response"
)

// Voice is the effect of the filter between the two recordings on a voice.
type Voice struct {
	// Deviation is the rms of the differences in the speech bands about their mean, both
	// weighted by importance, in dB. It is 0 for a voice that is only louder or softer.
	Deviation response.Figure
	// KnownShare is the sum of the importance, 0 to 1, of the bands that are known. Bands that are
	// not known have no weight.
	KnownShare float64
	// Parts are the parts of a voice, each with its level relative to the weighted mean of the
	// speech bands.
	Parts []Part
}

// Part is a part of the spectrum under its name in the trade.
type Part struct {
	Name  string
	Band  response.Band
	Level response.Figure // dB re the weighted mean of the speech bands
}

// voiceParts are terms of audio engineers with approximate bands (common practice; no standard
// defines them).
var voiceParts = []Part{
	{Name: "low voice", Band: response.Band{Low: 89, High: 224}},   // chest; boomy when there is too much
	{Name: "body", Band: response.Band{Low: 224, High: 562}},       // warmth; boxy when there is too much
	{Name: "presence", Band: response.Band{Low: 1778, High: 4467}}, // what brings a voice forward
	{Name: "sibilance", Band: response.Band{Low: 4467, High: 8913}},
	{Name: "air", Band: response.Band{Low: 8913, High: 17783}},
}

// voice computes Comparison.Voice from the result in third octaves.
func voice(bands []BandLevel) Voice {
	weights := map[float64]float64{}
	nominal, share := speech.Importance()
	for i, f := range nominal {
		weights[f] = share[i]
	}
	var out Voice
	level := func(b BandLevel) float64 { return weights[b.Nominal] }
	mean := weightedMean(bands, level)
	var square, slack float64
	for _, b := range bands {
		if w := level(b); w > 0 && b.Known {
			out.KnownShare += w
			away := b.Difference - mean.Value
			square += w * away * away
			slack += (w * away * b.Uncertainty) * (w * away * b.Uncertainty)
		}
	}
	out.Deviation = response.NotKnown("dB")
	if out.KnownShare > 0 {
		// d rms/d Di = wi (Di − mean)/(W rms): the derivative of the mean cancels.
		rms := math.Sqrt(square / out.KnownShare)
		out.Deviation = response.Figure{Value: rms, Unit: "dB", Uncertainty: 0}
		if rms > 0 {
			out.Deviation.Uncertainty = math.Sqrt(slack) / (out.KnownShare * rms)
		}
	}
	for _, p := range voiceParts {
		in := meanOver(bands, p.Band)
		p.Level = response.Figure{Value: in.Value - mean.Value, Uncertainty: math.Hypot(in.Uncertainty, mean.Uncertainty),
			Unit: "dB"}
		out.Parts = append(out.Parts, p)
	}
	return out
}

// weightedMean returns the weighted mean difference of the bands that are known. It is not known if
// these have less than half of the weight.
func weightedMean(bands []BandLevel, weight func(BandLevel) float64) response.Figure {
	var all, known, sum, variance float64
	for _, b := range bands {
		w := weight(b)
		if all += w; b.Known {
			known += w
			sum += w * b.Difference
			if w > 0 {
				variance += w * w * b.Uncertainty * b.Uncertainty
			}
		}
	}
	if known == 0 || known < all/2 {
		return response.NotKnown("dB")
	}
	return response.Figure{Value: sum / known, Uncertainty: math.Sqrt(variance) / known, Unit: "dB"}
}

// meanOver returns the mean difference of the third octaves whose centre lies in a band.
func meanOver(bands []BandLevel, in response.Band) response.Figure {
	return weightedMean(bands, func(b BandLevel) float64 {
		if in.Contains(b.Centre) {
			return 1
		}
		return 0
	})
}
