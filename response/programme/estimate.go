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
	// difference is the level in dB of the material after the filter, re the material.
	difference float64
	// uncertainty is the standard uncertainty of difference in dB; half is the half width of
	// its 95 % interval.
	uncertainty, half float64
}

// binSums are weighted sums over bins.
type binSums struct {
	weight, xx, yy float64
	xy             complex128
	explained      float64 // of yy, by a transfer function for each bin, or by one in common
}

// cell estimates one transfer function over a range in Hz, taken as constant there: it adds the
// spectra of the bins in the range.
func (t *resolution) cell(low, high, ratio float64) estimate {
	return t.estimate(t.material(low, high), ratio, false)
}

// band estimates the difference in level over a range in Hz, with a transfer function for each bin.
func (t *resolution) band(low, high, ratio float64) estimate {
	return t.estimate(t.material(low, high), ratio, true)
}

func (t *resolution) over(b bins, each bool) (s binSums) {
	for i, w := range b.weight {
		k := b.first + i
		s.weight += w
		s.xx += w * t.total.xx[k]
		s.xy += complex(w, 0) * t.corrected(t.total, k)
		if !each {
			s.yy += w * t.correctedThrough(k)
			continue
		}
		s.yy += w * t.total.yy[k]
		if x := t.total.xx[k]; x > 0 {
			s.explained += w * (fft.Power(t.total.xy[k])/x + t.leaked(k))
		}
	}
	if !each {
		s.explained = fft.Power(s.xy) / s.xx
	}
	return s
}

// level returns the level in dB of the explained power over a range in Hz, re that of the material.
func (t *resolution) level(low, high float64, each bool) float64 {
	s := t.over(t.material(low, high), each)
	return decibel.OfPower(s.explained / s.xx)
}

func (t *resolution) estimate(b bins, ratio float64, each bool) estimate {
	s := t.over(b, each)
	xx, yy, xy, explained := s.xx, s.yy, s.xy, s.explained
	unknown := estimate{h1: cmplx.NaN(), h2: cmplx.NaN(), tls: cmplx.NaN(), coherence: math.NaN(), difference: math.NaN(),
		uncertainty: math.NaN(), half: math.NaN()}
	if xx == 0 || yy == 0 {
		return unknown
	}
	segments := effectiveAverages(t.total.count, t.n, t.hop)
	e := estimate{h1: h1(xx, xy), h2: h2(yy, xy), tls: totalLeastSquares(xx, yy, xy, ratio)}
	e.density = xx / s.weight * t.density()
	// Under a Hann window, neighbouring bins share half of the power of their noise.
	e.averages = segments * max(1, s.weight/2)
	if !each {
		segments = e.averages
	}
	// Subtract what n averages explain by chance: E|Σ X*N|²/Σ|X|² = Snn.
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
