package programme

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/stat/distuv"
)

// estimate is what the bins of a cell or a band say.
type estimate struct {
	h1, h2, tls complex128
	coherence   float64
	averages    float64 // independent ones: of segments, and of bins
	density     float64 // of the direct recording, mean per Hz
	// difference is 10 log10 of the power that the filter makes of the
	// material over the power of the material, in dB.
	difference float64
	// uncertainty is standard, in dB; half is the half width of the interval
	// that holds the truth with 95 %.
	uncertainty, half float64
}

// cell estimates one transfer function over a range in Hz, by adding up the
// spectra of the bins in it: it is taken as constant there.
func (t *tier) cell(low, high, ratio float64) estimate {
	return t.estimate(t.between(low, high), ratio, false)
}

// band estimates the difference in level over a range in Hz, each bin having a
// transfer function of its own.
func (t *tier) band(low, high, ratio float64) estimate {
	return t.estimate(t.between(low, high), ratio, true)
}

func (t *tier) estimate(b bins, ratio float64, each bool) estimate {
	var xx, yy, explained float64
	var xy complex128
	for i, w := range b.weight {
		k := b.first + i
		x, y, c := t.total.xx[k], t.total.yy[k], t.total.xy[k]
		xx += w * x
		yy += w * y
		xy += complex(w, 0) * c
		if x > 0 {
			explained += w * power(c) / x
		}
	}
	unknown := estimate{h1: cmplx.NaN(), h2: cmplx.NaN(), tls: cmplx.NaN(), coherence: math.NaN(), difference: math.NaN(), uncertainty: math.NaN(), half: math.NaN()}
	if xx == 0 || yy == 0 {
		return unknown
	}
	segments := effectiveAverages(t.total.count, t.n, t.hop)
	e := estimate{h1: h1(xx, xy), h2: h2(yy, xy), tls: totalLeastSquares(xx, yy, xy, ratio)}
	var sum float64
	for _, w := range b.weight {
		sum += w
	}
	e.density = xx / sum * t.density()
	// Neighbouring bins of a Hann window share half of their noise's power.
	e.averages = segments * max(1, sum/2)
	if !each {
		explained = power(xy) / xx
		segments = e.averages
	}
	// What n averages explain by chance comes off: E|Σ X*N|²/Σ|X|² = Snn.
	unexplained := max(0, yy-explained) * segments / max(1, segments-1)
	explained -= unexplained / segments
	if explained <= 0 {
		unknown.density, unknown.coherence = e.density, 0
		return unknown
	}
	e.coherence = explained / yy
	e.difference = 10 * math.Log10(explained/xx)
	if each && e.coherence > sharpen {
		e.difference -= t.blur(b, explained, unexplained/segments)
	}
	e.uncertainty, e.half = t.spread(b, each, explained, xy/complex(xx, 0))
	return e
}

// sharpen is the coherence from which on the window's blur is taken out; below
// it, noise is far larger.
const sharpen = 0.9

// blur is by how much in dB the window's width raises the level of a band. A
// bin of a Hann window sees its neighbours with the weights 1/6, 2/3, 1/6 in
// power, of variance 1/3 bin²; blurring H once more with 1/4, 1/2, 1/4, of
// variance 1/2, shows what that does, and two thirds of it is what the window
// did already (Tukey's twicing, 1977, from memory). Of what is explained by
// chance, 0.6 survives that second blur, neighbours being correlated.
func (t *tier) blur(b bins, explained, chance float64) float64 {
	var twice float64
	xx, xy := t.total.xx, t.total.xy
	for i, w := range b.weight {
		k := b.first + i
		if x := xx[k-1] + 2*xx[k] + xx[k+1]; x > 0 {
			c := xy[k-1] + 2*xy[k] + xy[k+1]
			twice += w * xx[k] * power(c) / (x * x)
		}
	}
	return 2.0 / 3 * 10 * math.Log10((twice-0.6*chance)/explained)
}

// spread is the standard uncertainty in dB of the level of an estimate, and
// the half width of its 95 % interval, from how much the pieces of time differ.
//
// To first order the estimate of the filter's power P = Σ |H|² Sxx errs by
//
//	δP/P = Σ_g z_g,  z_g = (2/P) Σ_k Re{H_k* (Sxy,g − H_k Sxx,g)},
//
// g being the pieces: what each has that the common filter does not explain.
// Their sum of squares is its variance, whatever makes them differ and however
// the bins and overlapping segments hang together (the sandwich estimate of
// White 1980, by clusters; each piece is divided by √(1 − its share of Sxx), as
// the fit leans on it: Bell & McCaffrey 2002; both from memory). Its degrees of
// freedom are those that the shares of energy give, as by Welch & Satterthwaite:
// (Σ q)²/Σ q² − 1, with q_g = Σ_k |H_k|² Sxx,g.
func (t *tier) spread(b bins, each bool, explained float64, pooled complex128) (standard, half float64) {
	var variance, all, squares float64
	for _, g := range t.groups {
		var z, q float64
		for i, w := range b.weight {
			k := b.first + i
			total := t.total.xx[k]
			if total == 0 {
				continue
			}
			h := pooled
			if each {
				h = t.total.xy[k] / complex(total, 0)
			}
			r := g.xy[k] - h*complex(g.xx[k], 0)
			lean := math.Sqrt(max(0.05, 1-g.xx[k]/total))
			z += w * (real(h)*real(r) + imag(h)*imag(r)) / lean
			q += w * power(h) * g.xx[k]
		}
		z *= 2 / explained
		variance += z * z
		all += q
		squares += q * q
	}
	freedom := all*all/squares - 1
	standard = 10 / math.Ln10 * math.Sqrt(variance*t.overlap())
	if !(freedom >= 1) {
		return standard, math.NaN()
	}
	return standard, standard * distuv.StudentsT{Sigma: 1, Nu: freedom}.Quantile(0.975)
}
