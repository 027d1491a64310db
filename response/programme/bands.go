package programme

import (
	"math"
	"slices"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
	"example.com/earnest/smoothing"
)

// ThirdOctave is what a third-octave band of IEC 61260-1 says.
type ThirdOctave struct {
	smoothing.Band
	// Direct and Through are the levels of both in the band, in dBFS rms.
	Direct, Through float64
	// Difference is by how much in dB the filter between the two raises the
	// level of this material in this band: that of the levels the segments
	// would show if what is not explained by a filter were not there. NaN where
	// it is not known.
	Difference float64
	// Uncertainty is its standard uncertainty in dB, and HalfWidth95 the half width
	// of the interval that holds the true difference with 95 %: Student's t
	// times Uncertainty. HalfWidth95 is NaN where fewer than two pieces of time have
	// nearly all of the energy, which cannot disagree.
	Uncertainty, HalfWidth95 float64
	// Coherence is the share of the through power that the filter explains.
	Coherence float64
	// Residual is the level in dB of what is not explained, relative to
	// Through; NaN outside the band reached.
	Residual float64
	// Known tells whether Difference is.
	Known bool
}

// Bands are the third-octave bands that lie within the band asked for.
func (c *Comparison) Bands() []ThirdOctave {
	var out []ThirdOctave
	for _, b := range thirds(c.Config.Band) {
		out = append(out, c.band(b))
	}
	return out
}

func (c *Comparison) band(b smoothing.Band) ThirdOctave {
	nan := math.NaN()
	out := ThirdOctave{Band: b, Direct: nan, Through: nan, Difference: nan, Uncertainty: nan, HalfWidth95: nan, Coherence: nan, Residual: nan}
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
		out.Difference, out.Uncertainty, out.HalfWidth95 = e.difference, e.uncertainty, e.half
	}
	return out
}

// ResidualLevel is the A-weighted level of the residual in dB re the
// A-weighted level of the through recording, over the bands in which it is known.
func (c *Comparison) ResidualLevel() float64 {
	var residual, all float64
	for _, b := range c.Bands() {
		if math.IsNaN(b.Residual) {
			continue
		}
		w := decibel.Power(b.Through + smoothing.AWeighting(b.Centre))
		all += w
		residual += w * decibel.Power(b.Residual)
	}
	return decibel.OfPower(residual / all)
}

// thirds returns the third-octave bands of IEC 61260-1 whose edges lie within a band.
func thirds(within response.Band) []smoothing.Band {
	all, err := smoothing.Bands(3, within.Low, within.High)
	if err != nil {
		return nil
	}
	return slices.DeleteFunc(all, func(b smoothing.Band) bool {
		return b.Low < within.Low*(1-1e-9) || b.High > within.High*(1+1e-9)
	})
}
