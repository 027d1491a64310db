package distortion

import (
	"math"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// Curve is the level of the order relative to the fundamental, against the
// frequency of the fundamental.
func (hs *HarmonicSet) Curve(o Order) response.Curve {
	return response.Curve{
		Frequency: hs.Fundamental, Level: o.Level, Uncertainty: o.Uncertainty,
		Reference: "fundamental", Valid: known(hs.Fundamental, o.Level),
	}
}

// OutputCurve is the level of the order relative to its fundamental, against
// the frequency of the harmonic itself, N times the fundamental's: where in the
// spectrum it is heard.
func (hs *HarmonicSet) OutputCurve(o Order) response.Curve {
	c := hs.Curve(o)
	n := float64(o.N)
	c.Frequency = make([]float64, len(hs.Fundamental))
	for i, f := range hs.Fundamental {
		c.Frequency[i] = n * f
	}
	c.Valid = response.Band{Low: n * c.Valid.Low, High: n * c.Valid.High}
	return c
}

// OutputSum is the power sum of all orders whose harmonic falls on one
// frequency, each relative to its own fundamental, against that frequency.
// Only where every order of the set that could fall there is known is the sum:
// from the lowest valid fundamental times the highest order to the highest
// valid frequency of the second harmonic, and there again only the orders whose
// fundamental the sweep played.
func (hs *HarmonicSet) OutputSum() response.Curve {
	sum := response.Curve{Reference: "the fundamentals"}
	var curves []response.Curve
	low, high := 0.0, 0.0
	for _, o := range hs.Orders {
		c := hs.OutputCurve(o)
		if c.Valid.Empty() {
			continue
		}
		curves = append(curves, c)
		low, high = max(low, c.Valid.Low), max(high, c.Valid.High)
	}
	sum.Frequency = response.LogGrid(low, high, hs.perOctave)
	for _, f := range sum.Frequency {
		sum.Level = append(sum.Level, powerSum(curves, f))
	}
	sum.Valid = known(sum.Frequency, sum.Level)
	return sum
}

// powerSum adds the powers of the curves that are known at f.
func powerSum(curves []response.Curve, f float64) float64 {
	var power float64
	for _, c := range curves {
		if v := c.At(f); !math.IsNaN(v) {
			power += decibel.Power(v)
		}
	}
	return decibel.OfAmplitude(math.Sqrt(power))
}

// known is the band from the first known level to the last.
func known(f, level []float64) response.Band {
	var b response.Band
	for i, v := range level {
		if math.IsNaN(v) {
			continue
		}
		if b.Low == 0 {
			b.Low = f[i]
		}
		b.High = f[i]
	}
	return b
}
