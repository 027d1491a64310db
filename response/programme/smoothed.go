package programme

import (
	"math"

	"example.com/earnest/response"
)

// Smoothed returns the level in dB re the direct recording of the mean power of the filter over
// 1/fraction octave about each frequency, or over two bins if these are wider. The frequencies are
// in Hz, ascending, at least 4·fraction to the octave. A level is NaN if the material gives no
// interval for it: outside Valid, at too little coherence or energy, or where one piece of time has
// nearly all of the energy.
//
// The mean over a cell is weighted by the material's power, and so stands for the centroid of that
// power. It is moved to the middle of the cell along the slope of the curve, the least-squares line
// through the cells that overlap it.
//
// Its uncertainty has two components. The noise of the recording is everything that no steady
// filter explains; it belongs to one seating. response.WindowCause is common to one side. It is the
// detail that only longer segments would resolve, together with what is left of the effect of the
// weights. The noise component is a 95 % half width divided by 1.96, so that the normal interval of
// the curve is that of Student's t.
func (c *Comparison) Smoothed(frequency []float64, fraction float64) response.Curve {
	n := len(frequency)
	out := c.blank("the direct recording", n)
	copy(out.Frequency, frequency)
	noise, unresolved, moved := make([]float64, n), make([]float64, n), make([]float64, n)
	half := math.Exp2(0.5 / fraction)
	for i, f := range frequency {
		out.Level[i], noise[i], unresolved[i], moved[i] = math.NaN(), math.NaN(), math.NaN(), math.NaN()
		t := resolutionFor(c.resolutions, f)
		if t == nil || !c.Valid.Contains(f) {
			continue
		}
		low, high := f/half, f*half
		if wide := t.rate / float64(t.n); high-low < 2*wide {
			low, high = f-wide, f+wide
		}
		e := t.band(low, high, c.gain)
		if !c.known(e) || math.IsNaN(e.half) {
			continue
		}
		out.Level[i], noise[i], unresolved[i] = e.difference, e.half/normal95, c.unresolvedBand(t, low, high)
		moved[i] = math.Log2(t.centroid(low, high) / f)
	}
	level := make([]float64, n)
	for i := range frequency {
		slope := slopeAbout(i, out, moved, 1/fraction)
		level[i] = out.Level[i] - slope*moved[i]
		unresolved[i] = math.Hypot(weightShare*slope*moved[i], windowShare*unresolved[i])
	}
	out.Level = level
	at := func(values []float64) func(float64) float64 {
		i := -1 // With goes through the frequencies in order
		return func(float64) float64 { i++; return values[i] }
	}
	out.Uncertainty = make([]float64, n)
	out = out.With(response.Cause{Name: response.NoiseOfRecording, CommonTo: response.OneSeating}, at(noise), 1/fraction)
	return out.With(response.Cause{Name: response.WindowCause, CommonTo: response.OneSide}, at(unresolved),
		max(1/fraction, 1./3))
}

// The shares that count as one standard uncertainty, from random draws of filters with four pieces
// of material: of the change with segments of half the length, and of the correction for the
// weights.
const (
	windowShare = 0.2
	weightShare = 0.12
)

// centroid returns the centroid in Hz of the material's power in a range.
func (t *resolution) centroid(low, high float64) float64 {
	var sum, power float64
	b := t.between(low, high)
	for i, w := range b.weight {
		k := b.first + i
		sum += w * (float64(k)*t.total.xx[k] + real(t.total.xd[k]))
		power += w * t.total.xx[k]
	}
	return sum / power * t.rate / float64(t.n)
}

// slopeAbout returns the slope in dB per octave over the points within reach octaves of point i.
// The centroid of each level lies a number of octaves, moved, from its frequency. The slope is 0 if
// all of them are at one frequency.
func slopeAbout(i int, c response.Curve, moved []float64, reach float64) float64 {
	var n, x, y, xx, xy float64
	for k, f := range c.Frequency {
		at := math.Log2(f / c.Frequency[i])
		if math.Abs(at) > reach*(1+1e-9) || math.IsNaN(c.Level[k]) {
			continue
		}
		at += moved[k]
		n, x, y, xx, xy = n+1, x+at, y+c.Level[k], xx+at*at, xy+at*c.Level[k]
	}
	if spread := n*xx - x*x; spread > 1e-9*n*n {
		return (n*xy - x*y) / spread
	}
	return 0
}
