package programme

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
	"example.com/earnest/smoothing"
)

// Agreement compares the response from the material with that from a sweep.
type Agreement struct {
	// Difference is the response from the material less that from the sweep, less Level, in
	// dB by third octave, with the standard uncertainty of both together. NaN where either
	// is not known.
	Difference response.Curve
	// RMS is the rms of Difference in dB; every third octave has the same weight.
	RMS float64
	// Expected is the rms in dB that their uncertainties alone would give.
	Expected float64
	// Level is the median difference over the bands, in dB. It is not zero if the gain was
	// changed between the two recordings. A median does not move with a difference that is
	// confined to the bass or to the treble.
	Level response.Figure
	// Beyond lists the centres in Hz of the bands whose difference is significant at 5 % over all
	// bands together.
	Beyond []float64
	// Agree reports that Beyond is empty.
	Agree bool
	// Sentence states the result in words, with the usual cause of a disagreement.
	Sentence string

	band response.Band
}

// rigSpread is a standard uncertainty in dB that is added to those that both curves state. The two
// recordings are made minutes apart, and over minutes a rig drifts by more than a hundredth of a
// decibel.
const rigSpread = 0.1

// Agreement compares the result with a sweep's response of the same headphones in the same seating,
// also relative to the direct recording. A sweep without an uncertainty is taken as exact.
//
// Errors: response.ErrOtherRig; an error if the two share fewer than 3 third octaves.
func (c *Comparison) Agreement(sweep response.Curve) (*Agreement, error) {
	if c.Config.Rig != "" && sweep.Rig != "" && c.Config.Rig != sweep.Rig {
		return nil, fmt.Errorf("programme: %w: %q and %q; play the material on the rig of the sweep",
			response.ErrOtherRig, c.Config.Rig, sweep.Rig)
	}
	bands := c.thirds
	out := &Agreement{Difference: c.blank("the sweep", len(bands))}
	out.Difference.Uncertainty = make([]float64, len(bands))
	var n, variance float64
	var levels []float64
	for i, b := range bands {
		level, u := c.overBand(sweep, b.Band)
		out.Difference.Frequency[i], out.Difference.Level[i] = b.Centre, b.Difference-level
		out.Difference.Uncertainty[i] = math.Sqrt(b.Uncertainty*b.Uncertainty + u*u + rigSpread*rigSpread)
		if d := out.Difference.Level[i]; !math.IsNaN(d) {
			n++
			levels = append(levels, d)
			variance += out.Difference.Uncertainty[i] * out.Difference.Uncertainty[i]
			if out.band.Low == 0 {
				out.band.Low = b.Low
			}
			out.band.High = b.High
		}
	}
	if n < 3 {
		return nil, fmt.Errorf("programme: %s and the sweep share %.0f third octaves in which both are known; "+
			"it takes 3 to compare", c.through, n)
	}
	// The uncertainty of the median of normal values is √(π/2) times that of their mean.
	out.Level = response.Figure{Value: statistic.Median(levels), Uncertainty: math.Sqrt(math.Pi/2*variance) / n,
		Unit: "dB"}
	// The bound, in standard uncertainties, that chance exceeds in any of n bands once in 20
	// comparisons (Šidák).
	limit := distuv.UnitNormal.Quantile(0.5 + 0.5*math.Pow(0.95, 1/n))
	for i, b := range bands {
		out.Difference.Level[i] -= out.Level.Value
		d, u := out.Difference.Level[i], out.Difference.Uncertainty[i]
		if math.IsNaN(d) {
			out.Difference.Uncertainty[i] = d
			continue
		}
		out.RMS += d * d / n
		if math.Abs(d) > limit*u {
			out.Beyond = append(out.Beyond, b.Centre)
		}
	}
	out.RMS, out.Expected = math.Sqrt(out.RMS), math.Sqrt(variance/n)
	out.Agree = len(out.Beyond) == 0
	out.Sentence = out.sentence()
	return out, nil
}

// sentence computes Agreement.Sentence.
func (a *Agreement) sentence() string {
	figure := fmt.Sprintf("%.1f dB rms over %v", a.RMS, a.band)
	if a.Agree {
		return fmt.Sprintf("The material and the sweep give the same response, %s, which their uncertainties explain.",
			figure)
	}
	var bass, treble int
	for _, f := range a.Beyond {
		switch {
		case f < 250:
			bass++
		case f > 4000:
			treble++
		}
	}
	worst, where := 0.0, 0.0
	for i, d := range a.Difference.Level {
		if math.Abs(d) > math.Abs(worst) {
			worst, where = d, a.Difference.Frequency[i]
		}
	}
	cause := "usually a device that adapts to what it plays (noise cancelling, limiting, " +
		"an equaliser that follows the level), or another setting"
	switch {
	case bass == len(a.Beyond):
		cause = "usually a seal that changed between the two, or bass that is limited when it is loud"
	case treble == len(a.Beyond):
		cause = "usually a cup that moved between the two"
	}
	return fmt.Sprintf("The material and the sweep differ by %s, most by %+.1f dB at %s, beyond their uncertainties: %s.",
		figure, worst, response.FormatFrequency(where), cause)
}

// overBand returns the level in dB by which the sweep's response would raise this material in a
// band, and its standard uncertainty there. It is evaluated over the same segments as the
// material, so that both have the same weights. With a the sweep's magnitude, the through power
// of a bin is a² Sxx + 2 a a' Re Sxd + a'² Sdd (see segmentends.go).
func (c *Comparison) overBand(sweep response.Curve, b smoothing.Band) (level, u float64) {
	t := resolutionFor(c.resolutions, b.Centre)
	if t == nil {
		return math.NaN(), math.NaN()
	}
	amplitude := func(k int) float64 {
		return decibel.Amplitude(sweep.At(float64(k) * t.rate / float64(t.n)))
	}
	var before, after float64
	in := t.material(b.Low, b.High)
	last, a := amplitude(in.first-1), amplitude(in.first)
	for i, w := range in.weight {
		k := in.first + i
		next := amplitude(k + 1)
		slope := (next - last) / 2
		if math.IsNaN(slope) {
			slope = 0 // at the sweep's ends
		}
		before += w * t.total.xx[k]
		after += w * (a*a*t.total.xx[k] + 2*a*slope*real(t.total.xd[k]) + slope*slope*t.total.dd[k])
		last, a = a, next
	}
	if u = sweep.UncertaintyAt(b.Centre); math.IsNaN(u) {
		u = 0
	}
	return decibel.OfPower(after / before), u
}
