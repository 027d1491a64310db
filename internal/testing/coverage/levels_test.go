package coverage

import (
	"math"
	"math/rand/v2"
)

// Levels are in dB at perOctave points to an octave from lowest Hz.
const (
	lowest    = 5.0
	perOctave = 48
	points    = 12*perOctave + 15 // to 25 kHz
)

type levels []float64

func frequency(i int) float64 { return lowest * math.Exp2(float64(i)/perOctave) }

func newLevels(of func(f float64) float64) levels {
	l := make(levels, points)
	for i := range l {
		l[i] = of(frequency(i))
	}
	return l
}

func flat(level float64) levels { return newLevels(func(float64) float64 { return level }) }

// at returns the level at f Hz, interpolated against log frequency; beyond either end the level of
// that end.
func (l levels) at(f float64) float64 {
	x := max(0, perOctave*math.Log2(f/lowest))
	i := min(int(x), points-2)
	part := min(1, x-float64(i))
	return l[i] + part*(l[i+1]-l[i])
}

func (l levels) plus(factor float64, others ...levels) levels {
	out := append(levels(nil), l...)
	for _, o := range others {
		for i, v := range o {
			out[i] += factor * v
		}
	}
	return out
}

func (l levels) times(factor float64) levels { return make(levels, points).plus(factor, l) }

// smoothed returns the mean power over 1/12 octave about each point, by the trapezium rule.
func (l levels) smoothed() levels {
	out := append(levels(nil), l...)
	for i := 2; i < points-2; i++ {
		var sum float64
		for k, w := range []float64{0.125, 0.25, 0.25, 0.25, 0.125} {
			sum += w * math.Pow(10, l[i+k-2]/10)
		}
		out[i] = 10 * math.Log10(sum)
	}
	return out
}

// peak returns a resonance or, below 0 dB, a notch.
func peak(f0, q, gain float64) levels {
	return newLevels(func(f float64) float64 { x := q * (f/f0 - f0/f); return gain / (1 + x*x) })
}

// shelf returns a gain below f0 Hz.
func shelf(f0, gain float64) levels {
	return newLevels(func(f float64) float64 { return gain / (1 + (f/f0)*(f/f0)) })
}

// field returns an error that is correlated over a number of octaves. At knots that far apart it
// takes the values of draw. Between them it mixes two values by cos and sin, so that its variance
// is the same everywhere.
func field(octaves float64, draw func() float64) levels {
	z := make([]float64, int(13/octaves)+3)
	for i := range z {
		z[i] = draw()
	}
	return newLevels(func(f float64) float64 {
		x := math.Log2(f/lowest) / octaves
		k := int(x)
		sin, cos := math.Sincos(math.Pi / 2 * (x - float64(k)))
		return z[k]*cos + z[k+1]*sin
	})
}

// between draws uniformly from low to high.
func between(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

// device returns the level of each side of an invented pair.
func device(r *rand.Rand) [2]levels {
	left := flat(between(r, -12, -4)).plus(1, shelf(between(r, 60, 200), 3*r.NormFloat64()), field(4, func() float64 { return 1.5 * r.NormFloat64() }))
	for f := 60.0; f < 12000; f *= 2.5 {
		left = left.plus(1, peak(f*between(r, 0.7, 1.4), between(r, 0.7, 2.5), 2.5*r.NormFloat64()))
	}
	return [2]levels{left, left.plus(1, flat(0.3*r.NormFloat64()), field(1.5, func() float64 { return 0.5 * r.NormFloat64() }))}
}
