package coverage

import (
	"math"
	"math/rand/v2"
)

// family is a way in which seatings of one side scatter. draw returns one seating in dB; mean is
// the expected value over all seatings.
type family struct {
	name string
	// named reports that the documentation says that intervals hold for it.
	named bool
	draw  func(r *rand.Rand) levels
	mean  levels
	// right is the factor by which the right side scatters more.
	right float64
}

// usual is the common standard deviation of seatings in dB, by octave from 16 Hz on.
var usual = []float64{1.5, 1.5, 1, 0.6, 0.4, 0.3, 0.3, 0.4, 0.6, 0.8, 1, 1}

// scattering returns a field over an octave with the usual scatter.
func scattering(draw func() float64) levels {
	z := field(1, draw)
	for i := range z {
		x := min(max(0, math.Log2(frequency(i)/16)), float64(len(usual)-1)-1e-9)
		k := int(x)
		z[i] *= usual[k] + (x-float64(k))*(usual[k+1]-usual[k])
	}
	return z
}

// notches returns moving peaks and dips above 5 kHz, with a standard deviation of 1.5 dB.
func notches(r *rand.Rand) levels {
	out := flat(0)
	for f := 5000.0; f < 16000; f *= 1.34 {
		out = out.plus(1, peak(f*math.Pow(1.34, r.Float64()), between(r, 3, 6), 1.5*r.NormFloat64()))
	}
	return out
}

// leak returns a loss of bass below 60 to 120 Hz.
func leak(r *rand.Rand, loss float64) levels { return shelf(between(r, 60, 120), -loss) }

// leakMean returns the expected leak for an expected loss.
func leakMean(loss float64) levels {
	out := flat(0)
	for k := range 60 {
		out = out.plus(1./60, shelf(60.5+float64(k), -loss))
	}
	return out
}

// closed returns a closed pair: a leak, notches, a little of everything else, and a level.
func closed(loss func(r *rand.Rand) float64) func(r *rand.Rand) levels {
	return func(r *rand.Rand) levels {
		return leak(r, loss(r)).plus(1, notches(r), flat(0.2*r.NormFloat64())).plus(0.3, scattering(r.NormFloat64))
	}
}

// student draws from Student's distribution with 5 degrees of freedom, scaled to a variance of 1.
func student(r *rand.Rand) float64 {
	var square float64
	for range 5 {
		z := r.NormFloat64()
		square += z * z
	}
	return r.NormFloat64() / math.Sqrt(square/3)
}

var families = []family{
	{name: "normal", named: true, draw: func(r *rand.Rand) levels { return scattering(r.NormFloat64).plus(1, flat(0.3*r.NormFloat64())) }, mean: flat(0)},
	{name: "closed pair", named: true, mean: leakMean(2 * math.Sqrt(2/math.Pi)),
		draw: closed(func(r *rand.Rand) float64 { return 2 * math.Abs(r.NormFloat64()) })},
	{name: "heavy tails", named: true, mean: flat(0),
		draw: func(r *rand.Rand) levels {
			return scattering(func() float64 { return student(r) }).plus(1, flat(0.3*student(r)))
		}},
	{name: "exponential leak", mean: leakMean(2), draw: closed(func(r *rand.Rand) float64 { return 2 * r.ExpFloat64() })},
	{name: "few causes", mean: flat(0), draw: func(r *rand.Rand) levels {
		return shelf(90, 1.5*r.NormFloat64()).plus(1, peak(7000, 1.5, 1.5*r.NormFloat64()), flat(0.4*r.NormFloat64()))
	}},
	{name: "right side 2.5 times", right: 2.5, mean: flat(0), draw: func(r *rand.Rand) levels { return scattering(r.NormFloat64).plus(1, flat(0.3*r.NormFloat64())) }},
}

// seated returns one seating of a side.
func (f family) seated(r *rand.Rand, side int) levels {
	if side == 1 && f.right > 0 {
		return f.draw(r).times(f.right)
	}
	return f.draw(r)
}
