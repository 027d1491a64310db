package programme

import (
	"math"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/response"
)

// perOctave is how fine the grid of the response is.
const perOctave = 48

// grid is the logarithmic grid in Hz of the fine curves: 48 points per octave over the band
// asked for.
func (c *Comparison) grid() []float64 { return response.LogGrid(c.Asked.Low, c.Asked.High, perOctave) }

// Point is what is known at one frequency.
type Point struct {
	Frequency float64 // Hz
	// H1, H2 and TLS are the three estimates of the transfer function, delay and
	// polarity corrected: H1 is right with noise in the through recording, H2 with noise in
	// the direct one, TLS (total least squares) with noise in both, in the ratio of their
	// powers.
	H1, H2, TLS complex128
	// Coherence is γ², corrected for what so many averages explain by chance.
	Coherence float64
	// RandomError is the standard uncertainty of the level of H1 in dB, as the
	// pieces of time differ; Half is the half width of its 95 % interval, NaN
	// where one piece has nearly all of the energy.
	RandomError, Half float64
	// Bias is how much higher in dB the level would be, and H2 is, if all that
	// is not explained were noise in the direct recording: −10 log10 γ² twice.
	Bias float64
	// Known tells whether the coherence and the material's energy are enough.
	// The estimates are NaN where they are not.
	Known bool
}

// At estimates at f Hz, over 1/48 octave about it or two bins where that is
// more.
func (c *Comparison) At(f float64) Point {
	half := math.Exp2(0.5 / perOctave)
	return c.point(f, f/half, f*half)
}

func (c *Comparison) point(f, low, high float64) Point {
	e, t := c.cell(f, low, high)
	p := Point{Frequency: f, Coherence: e.coherence}
	if p.Known = t != nil && c.Reached.Contains(f) && c.known(e); !p.Known {
		nan := complex(math.NaN(), math.NaN())
		p.H1, p.H2, p.TLS = nan, nan, nan
		p.RandomError, p.Half, p.Bias = math.NaN(), math.NaN(), math.NaN()
		return p
	}
	p.H1, p.H2, p.TLS = e.h1, e.h2, e.tls
	p.RandomError, p.Half, p.Bias = e.uncertainty, e.half, -decibel.OfAmplitude(e.coherence)
	return p
}

// cell estimates over a range, two bins wide at the least.
func (c *Comparison) cell(f, low, high float64) (estimate, *tier) {
	t := serving(c.tiers, f)
	if t == nil {
		return estimate{coherence: math.NaN(), density: math.NaN()}, nil
	}
	if wide := t.rate / float64(t.n); high-low < 2*wide {
		low, high = f-wide, f+wide
	}
	return t.cell(low, high, c.gain), t
}

// Points estimates at 48 frequencies per octave over the band asked for.
func (c *Comparison) Points() []Point {
	grid := c.grid()
	out := make([]Point, len(grid))
	for i, f := range grid {
		out[i] = c.At(f)
	}
	return out
}

// Response is the level of H1 in dB re the direct recording at the frequencies of Points, NaN where
// it is not known, with its standard uncertainty.
func (c *Comparison) Response() response.Curve {
	return c.curve(c.Points(), func(p Point) float64 { return decibel.OfPower(fft.Power(p.H1)) })
}

func (c *Comparison) curve(points []Point, level func(Point) float64) response.Curve {
	out := c.blank("the direct recording", len(points))
	out.Uncertainty = make([]float64, len(points))
	for i, p := range points {
		out.Frequency[i], out.Level[i], out.Uncertainty[i] = p.Frequency, level(p), p.RandomError
	}
	return out
}

func (c *Comparison) blank(reference string, n int) response.Curve {
	return response.Curve{Frequency: make([]float64, n), Level: make([]float64, n), Reference: reference, Rig: c.Config.Rig, Valid: c.Reached}
}

// powers are the powers of both in a range in Hz, re full scale squared, and the
// width of the range in Hz as far as there are bins.
func (t *tier) powers(low, high float64) (x, y, width float64) {
	spacing := t.rate / float64(t.n)
	b := t.between(low, high)
	for i, w := range b.weight {
		x += w * t.total.xx[b.first+i]
		y += w * t.total.yy[b.first+i]
		width += w * spacing
	}
	scale := t.density() * spacing
	return x * scale, y * scale, width
}

// covered is the share of the material's energy where the response is known.
func (c *Comparison) covered() float64 {
	var known, all float64
	half := math.Exp2(0.5 / 12)
	for _, f := range response.LogGrid(c.Asked.Low*half, c.Asked.High/half, 12) {
		e, t := c.cell(f, f/half, f*half)
		if t == nil {
			continue
		}
		x, _, _ := t.powers(f/half, f*half)
		if all += x; c.Reached.Contains(f) && c.known(e) {
			known += x
		}
	}
	return known / all
}

// unknownOctaves is how many octaves were asked for, and in how many nothing is
// known.
func (c *Comparison) unknownOctaves() (all, missing float64) {
	for _, f := range c.grid() {
		all += 1.0 / perOctave
		if !c.At(f).Known {
			missing += 1.0 / perOctave
		}
	}
	return all, missing
}
