package target_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/stat/distuv"

	"example.com/earnest/internal/testing/known"
	"example.com/earnest/response"
	"example.com/earnest/target"
)

// NIST/ITL StRD, linear regression, Norris: each of its 36 points is a short piece of curve, level
// in dB against octaves, and only these pieces have a weight. Two points coincide; they are one
// piece, of twice the weight, at their mean.
func TestTiltIsTheCertifiedLineThroughNorris(t *testing.T) {
	var reference struct {
		Norris struct {
			X, Y                        []float64
			Intercept, Slope, Deviation float64
		}
	}
	known.Values(t, "nist.json", &reference)
	n := reference.Norris
	const octave, half = 100.0, 1e-4 // an octave in units of x; half the width of the piece about a point in octaves
	type piece struct{ x, y, weight float64 }
	var pieces []piece
	for i, x := range n.X {
		if k := slices.IndexFunc(pieces, func(p piece) bool { return p.x == x }); k >= 0 {
			p := &pieces[k]
			p.y, p.weight = (p.y*p.weight+n.Y[i])/(p.weight+1), p.weight+1
			continue
		}
		pieces = append(pieces, piece{x, n.Y[i], 1})
	}
	slices.SortFunc(pieces, func(a, b piece) int { return int(math.Copysign(1, a.x-b.x)) })
	c := response.Curve{Valid: response.AllFrequencies}
	for _, p := range pieces {
		for _, end := range []float64{-half, half} {
			c.Frequency, c.Level = append(c.Frequency, 20*math.Exp2(p.x/octave+end)), append(c.Level, p.y)
		}
	}
	weight := func(f float64) float64 {
		for _, p := range pieces {
			if math.Abs(math.Log2(f/20)-p.x/octave) <= half {
				return p.weight
			}
		}
		return 0
	}
	d := compare(t, c, target.Flat(), target.Config{Band: response.AllFrequencies, Weight: weight})
	assert.InEpsilon(t, n.Slope, d.Tilt.Value/octave, 1e-9, "logarithms of frequencies to 1e-16 over pieces of 1e-4 octaves")
	assert.InEpsilon(t, n.Deviation*math.Sqrt(34./36), d.Ripple.Value, 0.01, "NIST divides by the degrees of freedom; the difference of two points at one place is not part of it")
	middle := 0.0
	for i := range n.X {
		middle += (n.Y[i] - n.Slope*n.X[i]) / float64(len(n.X))
	}
	assert.InDelta(t, n.Intercept, middle, 1e-9, "the fitted line and the aligning offset both pass through the mean of the points")
}

// JCGM 106:2012 on the probability that an item conforms, from memory: a Zener diode of −5.47 V
// with u = 0.05 V and a limit of −5.40 V (probability 0.92); oil of 13.6 mm²/s with u = 1.8 between
// 12.5 and 16.3 (0.66); and a speed that exceeds 100 km/h with a probability of 99.9 %, where u is
// 2 % of the reading: 107 km/h and above.
func TestDecisionsOfJCGM106(t *testing.T) {
	infinite := math.Inf(1)
	zener := response.Figure{Value: -5.47, Uncertainty: 0.05, Unit: "V"}
	assert.InDelta(t, 0.92, distuv.UnitNormal.CDF((-5.40+5.47)/0.05), 0.005, "as printed")
	assert.Equal(t, target.Yes, target.Decide(zener, -infinite, -5.40, 0.91))
	assert.Equal(t, target.CannotTell, target.Decide(zener, -infinite, -5.40, 0.93))
	oil := response.Figure{Value: 13.6, Uncertainty: 1.8, Unit: "mm²/s"}
	assert.InDelta(t, 0.66, distuv.UnitNormal.CDF((16.3-13.6)/1.8)-distuv.UnitNormal.CDF((12.5-13.6)/1.8), 0.005, "as printed")
	assert.Equal(t, target.CannotTell, target.Decide(oil, 12.5, 16.3, 0.95))
	for speed, want := range map[float64]target.Answer{106: target.CannotTell, 107: target.No} {
		assert.Equal(t, want, target.Decide(response.Figure{Value: speed, Uncertainty: 0.02 * speed, Unit: "km/h"}, -infinite, 100, 0.999), "%v km/h", speed)
	}
	// 8.3.2: with a guard band of U = 2u the risk of a wrong yes is at most 2.3 %.
	confidence := distuv.UnitNormal.CDF(2)
	for reading, want := range map[float64]target.Answer{7.99: target.Yes, 8.01: target.CannotTell, 11.99: target.CannotTell, 12.01: target.No} {
		assert.Equal(t, want, target.Decide(response.Figure{Value: reading, Uncertainty: 1, Unit: "V"}, -infinite, 10, confidence), "%v V", reading)
	}
}
