package programme

import (
	"math"
	"slices"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
	"example.com/earnest/smoothing"
)

// BandLevel is the result in one band of IEC 61260-1, of a third of an octave or another fraction.
type BandLevel struct {
	smoothing.Band
	// Direct and Through are the levels of both recordings in the band, in dBFS rms, Through with
	// Config.Correction.
	Direct, Through float64
	// Difference is the level in dB by which the linear filter between the two recordings
	// raises this material in this band: the level of the part of the through recording that
	// the filter explains, less Direct. NaN where it is not known.
	Difference float64
	// Uncertainty is the standard uncertainty of Difference in dB; HalfWidth95 is the half
	// width of its 95 % interval, Student's t times Uncertainty. HalfWidth95 is NaN where a
	// single piece of time has nearly all of the energy, since nothing then shows scatter. Both hold
	// for these two recordings: they do not include the uncertainty of Config.Correction.
	Uncertainty, HalfWidth95 float64
	// Unresolved is the component of Uncertainty that comes from the length of the segments, which
	// blurs the edges of the band. The other components hold for the levels of these very segments.
	Unresolved float64
	// Coherence is the share of the through power that the filter explains, 0 to 1.
	Coherence float64
	// Residual is the level in dB re Through of the power that no steady linear filter between the
	// two recordings explains: noise, distortion, a head that moved, a device that adapts. A sweep
	// cannot show it. It is NaN outside Comparison.Valid, and −Inf if nothing is left.
	//
	//	residual = 10 log10(1 − γ²)
	Residual float64
	// Known reports whether Difference is known.
	Known bool
}

// Bands returns the result in each band of 1/fraction octave that lies within Config.Band: Bands(3)
// in third octaves. It returns none for a fraction that smoothing.Bands rejects. A bin is at least
// as wide as a twelfth of the lowest frequency of its resolution; neighbouring bands that are
// narrower than their bins share a bin.
func (c *Comparison) Bands(fraction int) []BandLevel {
	if fraction == 3 {
		return slices.Clone(c.thirds)
	}
	return c.fractions(fraction)
}

func (c *Comparison) fractions(fraction int) []BandLevel {
	var out []BandLevel
	for _, b := range bandsWithin(fraction, c.Config.Band) {
		out = append(out, c.band(b))
	}
	return out
}

func (c *Comparison) band(b smoothing.Band) BandLevel {
	nan := math.NaN()
	out := BandLevel{Band: b, Direct: nan, Through: nan, Difference: nan, Uncertainty: nan, HalfWidth95: nan,
		Unresolved: nan, Coherence: nan, Residual: nan}
	t := resolutionFor(c.resolutions, b.Centre)
	if t == nil || !c.Valid.Contains(b.Centre) {
		return out
	}
	x, y := t.powers(b.Low, b.High)
	out.Direct, out.Through = decibel.OfPower(x), decibel.OfPower(y)
	e := t.band(b.Low, b.High, c.gain)
	out.Coherence = e.coherence
	if e.coherence < 1 {
		out.Residual = 10 * math.Log10(1-e.coherence) // −Inf where nothing is left
	}
	if out.Known = c.known(e); out.Known {
		out.Unresolved = c.unresolvedBand(t, b.Low, b.High)
		out.Difference, out.Uncertainty = e.difference, math.Hypot(e.uncertainty, out.Unresolved)
		out.HalfWidth95 = math.Hypot(e.half, normal95*out.Unresolved)
	}
	return out
}

// residualLevel computes Comparison.ResidualLevel.
func (c *Comparison) residualLevel() float64 {
	var residual, all float64
	for _, b := range c.thirds {
		if math.IsNaN(b.Residual) {
			continue
		}
		w := decibel.Power(b.Through + smoothing.AWeighting(b.Centre))
		all += w
		residual += w * decibel.Power(b.Residual)
	}
	return decibel.OfPower(residual / all)
}

// bandsWithin returns the bands of 1/fraction octave of IEC 61260-1 whose edges lie within a band.
func bandsWithin(fraction int, within response.Band) []smoothing.Band {
	all, err := smoothing.Bands(fraction, within.Low, within.High)
	if err != nil {
		return nil
	}
	return slices.DeleteFunc(all, func(b smoothing.Band) bool {
		return b.Low < within.Low*(1-1e-9) || b.High > within.High*(1+1e-9)
	})
}
