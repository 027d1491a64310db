package distortion

import (
	"math"

	"example.com/earnest/response"
)

// Relative says what total harmonic distortion is stated relative to.
type Relative int

// Total harmonic distortion is stated relative to the fundamental by many
// makers, and to the total output, harmonics included, by IEC 60268-3 (from
// memory). The two differ by 0.5 % of the figure at 10 %.
const (
	ToFundamental Relative = iota
	ToTotal
)

// String names the reference in words.
func (r Relative) String() string {
	if r == ToTotal {
		return "relative to the total"
	}
	return "relative to the fundamental"
}

// THD is total harmonic distortion against the frequency of the fundamental.
type THD struct {
	// Relative says what the figures are relative to.
	Relative Relative
	// Fundamental in Hz.
	Fundamental []float64
	// Ratio of the root sum of squares of the harmonics to the reference, one
	// per fundamental; NaN where not even the second harmonic is known.
	Ratio []float64
	// Highest is the highest order contained: all from the second to it are;
	// 0 where nothing is known.
	Highest []int
}

// THD sums the harmonics at each fundamental: all orders from the second up to
// the first that is not known there.
func (hs *HarmonicSet) THD(relative Relative) THD {
	thd := THD{
		Relative:    relative,
		Fundamental: hs.Fundamental,
		Ratio:       make([]float64, len(hs.Fundamental)),
		Highest:     make([]int, len(hs.Fundamental)),
	}
	for i := range hs.Fundamental {
		var power float64
		for _, o := range hs.Orders {
			if math.IsNaN(o.Level[i]) {
				break
			}
			power += math.Pow(10, o.Level[i]/10)
			thd.Highest[i] = o.N
		}
		thd.Ratio[i] = ratio(power, relative, thd.Highest[i])
	}
	return thd
}

// ratio is the square root of the harmonics' power over the reference's, the
// fundamental's own power being 1.
func ratio(power float64, relative Relative, highest int) float64 {
	switch {
	case highest == 0:
		return math.NaN()
	case relative == ToTotal:
		return math.Sqrt(power / (1 + power))
	}
	return math.Sqrt(power)
}

// Curve is the distortion as a level in dB.
func (t THD) Curve() response.Curve {
	level := make([]float64, len(t.Ratio))
	for i, r := range t.Ratio {
		level[i] = decibel(r)
	}
	return response.Curve{
		Frequency: t.Fundamental, Level: level,
		Reference: "total harmonic distortion " + t.Relative.String(),
		Valid:     known(t.Fundamental, level),
	}
}

// Percent is the distortion in per cent, interpolated at the fundamental f Hz
// like a level; NaN where it is not known.
func (t THD) Percent(f float64) float64 { return 100 * math.Pow(10, t.Curve().At(f)/20) }

// Curve is the level of the order relative to the fundamental.
func (hs *HarmonicSet) Curve(o Order) response.Curve {
	return response.Curve{
		Frequency: hs.Fundamental, Level: o.Level,
		Reference: "fundamental", Valid: known(hs.Fundamental, o.Level),
	}
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
