package programme

import (
	"math"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/response"
)

// PerOctave is the number of points per octave of the response. Each point is the mean over 1/48
// octave, or over two bins if these are wider.
const PerOctave = 48

// Point holds the estimates at one frequency.
type Point struct {
	Frequency float64 // Hz
	// H1, H2 and TLS are three estimates of the transfer function, with delay and polarity
	// corrected. H1 is unbiased with noise in the through recording, H2 with noise in the direct
	// one, and TLS (total least squares) with noise in both, in the ratio of their powers.
	H1, H2, TLS complex128
	// Coherence is γ², less the coherence that this number of averages shows by chance.
	Coherence float64
	// RandomError is the standard uncertainty of the level of H1 in dB, from the scatter
	// between pieces of time. HalfWidth95 is the half width of its 95 % interval, NaN where
	// one piece has nearly all of the energy.
	RandomError, HalfWidth95 float64
	// Unresolved is the standard uncertainty in dB from the width of the cell and the length of the
	// segments. HalfWidth95 contains it, and so does the uncertainty of Response.
	Unresolved float64
	// Bias is the level of H2 less that of H1 in dB, −20 log10 γ². The level of H1 is too low by
	// this much if everything that is not explained is noise in the direct recording.
	Bias float64
	// Known reports whether coherence and energy suffice. The estimates are NaN where they
	// do not.
	Known bool
}

// At returns the estimates at f Hz: over 1/48 octave about it, or over two bins where these are
// wider.
func (c *Comparison) At(f float64) Point {
	half := math.Exp2(0.5 / PerOctave)
	e, t, low, high := c.cell(f, f/half, f*half)
	p := Point{Frequency: f, Coherence: e.coherence}
	if p.Known = t != nil && c.Valid.Contains(f) && c.known(e); !p.Known {
		nan := complex(math.NaN(), math.NaN())
		p.H1, p.H2, p.TLS = nan, nan, nan
		p.RandomError, p.HalfWidth95, p.Unresolved, p.Bias = math.NaN(), math.NaN(), math.NaN(), math.NaN()
		return p
	}
	p.H1, p.H2, p.TLS = e.h1, e.h2, e.tls
	p.Unresolved = c.unresolved(t, low, high)
	p.RandomError, p.HalfWidth95, p.Bias = e.uncertainty, math.Hypot(e.half, normal95*p.Unresolved),
		-decibel.OfAmplitude(e.coherence)
	return p
}

// grid returns the frequencies in Hz of Response.
func (c *Comparison) grid() []float64 {
	return response.LogGrid(c.Config.Band.Low, c.Config.Band.High, PerOctave)
}

// cell estimates over a range of frequency about f that is at least two bins wide.
func (c *Comparison) cell(f, low, high float64) (e estimate, t *resolution, from, to float64) {
	if t = resolutionFor(c.resolutions, f); t == nil {
		return estimate{coherence: math.NaN(), density: math.NaN()}, nil, low, high
	}
	if wide := t.rate / float64(t.n); high-low < 2*wide {
		low, high = f-wide, f+wide
	}
	return t.cell(low, high, c.gain), t, low, high
}

// Response returns the level of H1 in dB re the direct recording at 48 frequencies per octave over
// Config.Band, NaN where it is not known, with its standard uncertainty. At has the other estimates
// at these frequencies.
func (c *Comparison) Response() response.Curve {
	grid := c.grid()
	out := c.blank("the direct recording", len(grid))
	out.Uncertainty = make([]float64, len(grid))
	for i, f := range grid {
		p := c.At(f)
		out.Frequency[i], out.Level[i], out.Uncertainty[i] = f, decibel.OfPower(fft.Power(p.H1)),
			math.Hypot(p.RandomError, p.Unresolved)
	}
	return out
}

// blank returns a curve of n points, to be filled in.
func (c *Comparison) blank(reference string, n int) response.Curve {
	return response.Curve{Frequency: make([]float64, n), Level: make([]float64, n), Reference: reference,
		Rig: c.Config.Rig, Valid: c.Valid}
}

// powers returns the powers of both recordings in a range in Hz, relative to full scale squared.
func (t *resolution) powers(low, high float64) (x, y float64) {
	spacing := t.rate / float64(t.n)
	b := t.between(low, high)
	for i, w := range b.weight {
		x += w * t.total.xx[b.first+i]
		y += w * t.total.yy[b.first+i]
	}
	scale := t.density() * spacing
	return x * scale, y * scale
}

// covered returns the share of the material's energy at frequencies where the response is known.
func (c *Comparison) covered() float64 {
	var known, all float64
	half := math.Exp2(0.5 / 12)
	for _, f := range response.LogGrid(c.Config.Band.Low*half, c.Config.Band.High/half, 12) {
		e, t, _, _ := c.cell(f, f/half, f*half)
		if t == nil {
			continue
		}
		x, _ := t.powers(f/half, f*half)
		if all += x; c.Valid.Contains(f) && c.known(e) {
			known += x
		}
	}
	return known / all
}

// unknownOctaves returns the width of Config.Band in octaves, and the part of it that is not known.
func (c *Comparison) unknownOctaves() (all, missing float64) {
	for _, f := range c.grid() {
		all += 1.0 / PerOctave
		if !c.At(f).Known {
			missing += 1.0 / PerOctave
		}
	}
	return all, missing
}
