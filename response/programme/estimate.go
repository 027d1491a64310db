package programme

import (
	"math"
	"math/cmplx"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
)

// estimate holds the results from the bins of a cell or a band.
type estimate struct {
	h1, h2, tls complex128
	coherence   float64
	averages    float64 // the number of independent averages, over segments and bins
	density     float64 // of the direct recording, mean per Hz
	// difference is the level in dB of what the filter makes of the material, re the material.
	difference float64
	// uncertainty is the standard uncertainty of difference in dB; half is the half width of
	// its 95 % interval.
	uncertainty, half float64
}

// cell estimates one transfer function over a range in Hz, in which it is taken as constant: the
// spectra of the bins in the range are added.
func (t *resolution) cell(low, high, ratio float64) estimate {
	return t.estimate(t.between(low, high), ratio, false)
}

// band estimates the difference in level over a range in Hz, in which each bin has a transfer
// function of its own.
func (t *resolution) band(low, high, ratio float64) estimate {
	return t.estimate(t.between(low, high), ratio, true)
}

func (t *resolution) estimate(b bins, ratio float64, each bool) estimate {
	var sum, xx, yy, explained float64
	var xy complex128
	for i, w := range b.weight {
		k := b.first + i
		sum += w
		xx += w * t.total.xx[k]
		xy += complex(w, 0) * t.corrected(t.total, k)
		if !each {
			yy += w * t.correctedThrough(k)
			continue
		}
		yy += w * t.total.yy[k]
		if x := t.total.xx[k]; x > 0 {
			explained += w * (fft.Power(t.total.xy[k])/x + t.leaked(k))
		}
	}
	unknown := estimate{h1: cmplx.NaN(), h2: cmplx.NaN(), tls: cmplx.NaN(), coherence: math.NaN(), difference: math.NaN(), uncertainty: math.NaN(), half: math.NaN()}
	if xx == 0 || yy == 0 {
		return unknown
	}
	segments := effectiveAverages(t.total.count, t.n, t.hop)
	e := estimate{h1: h1(xx, xy), h2: h2(yy, xy), tls: totalLeastSquares(xx, yy, xy, ratio)}
	e.density = xx / sum * t.density()
	// Under a Hann window, neighbouring bins share half of the power of their noise.
	e.averages = segments * max(1, sum/2)
	if !each {
		explained = fft.Power(xy) / xx
		segments = e.averages
	}
	// Less what n averages explain by chance: E|Σ X*N|²/Σ|X|² = Snn.
	unexplained := max(0, yy-explained) * segments / max(1, segments-1)
	explained = min(explained, yy) - unexplained/segments
	if explained <= 0 {
		unknown.density, unknown.coherence = e.density, 0
		return unknown
	}
	e.coherence = explained / yy
	e.difference = decibel.OfPower(explained / xx)
	e.uncertainty, e.half = t.sandwich(b, each, xy/complex(xx, 0)).result(explained, t.correlation())
	return e
}
