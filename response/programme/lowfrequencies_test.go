//go:build !race

package programme_test

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response/programme"
)

// bassLine returns decaying bass notes from 25 to 80 Hz, each with four harmonics, over soft noise.
func bassLine(seconds float64, fs int, seed uint64) []float64 {
	random := rand.New(rand.NewPCG(seed, 9))
	x := make([]float64, int(seconds*float64(fs)))
	for i := range x {
		x[i] = 2e-3 * random.NormFloat64()
	}
	for at := 0.0; at < seconds-0.3; at += 0.3 {
		f, decay := 25*math.Exp2(random.Float64()*1.7), 0.15+0.5*random.Float64()
		for i := int(at * float64(fs)); i < len(x); i++ {
			t := (float64(i) - at*float64(fs)) / float64(fs)
			if t > 5*decay {
				break
			}
			envelope := 0.1 * math.Exp(-t/decay) * math.Min(1, t/0.005)
			for n := 1.0; n <= 4; n++ {
				x[i] += envelope / n * math.Sin(2*math.Pi*n*f*t)
			}
		}
	}
	return x
}

// bandTruth returns the difference in level of two whole recordings in a band with ideal edges.
func bandTruth(x, y []float64, fs int, low, high float64) float64 {
	n := fft.FastLen(len(x) + 2*fs)
	a, b := fft.NewPlan(n).Forward(nil, x), fft.NewPlan(n).Forward(nil, y)
	var before, after float64
	for k := range a {
		if f := float64(k) * float64(fs) / float64(n); f >= low && f < high {
			before += fft.Power(a[k])
			after += fft.Power(b[k])
		}
	}
	return 10 * math.Log10(after/before)
}

// Known filters on bass material and other material. Points are compared with the filter's response
// by its formula, and bands with the levels of the whole material between ideal edges, with and
// without the filter.
func TestLowFrequenciesThroughKnownFilters(t *testing.T) {
	long.Skip(t)
	const fs = 16000
	for _, m := range []struct {
		name string
		x    []float64
	}{
		{"a bass line", bassLine(30, fs, 1)}, {"a tune", rig.Music(fs, 30, 1)[0]}, {"pink noise", pink(30*fs, fs, 1)},
	} {
		for _, f := range []struct {
			name  string
			chain biquad.Chain
		}{
			{"falls by 12 dB per octave", biquad.Chain{biquad.New(biquad.HighPass, 35, 0.7, 0, fs)}},
			{"falls by 24 dB per octave", biquad.Chain{biquad.New(biquad.HighPass, 40, 0.54, 0, fs), biquad.New(biquad.HighPass, 40, 1.3, 0, fs)}},
			{"resonates", biquad.Chain{biquad.New(biquad.Peaking, 45, 4, 8, fs)}},
			{"has a notch", biquad.Chain{biquad.New(biquad.Peaking, 60, 8, -8, fs)}},
			{"headphones", headphones(fs)},
		} {
			t.Run(m.name+", "+f.name, func(t *testing.T) {
				y := slices.Clone(m.x)
				chain := f.chain
				chain.Apply(y)
				c := compare(t, m.x, withNoise(y, 60, 3), fs, programme.Config{})
				held := func(low, high float64) float64 {
					var points, inside float64
					for _, f := range c.Response().Frequency {
						p := c.At(f)
						if !p.Known || p.Frequency < low || p.Frequency > high {
							continue
						}
						points++
						if math.Abs(20*math.Log10(cmplx.Abs(p.H1)/cmplx.Abs(chain.Response(p.Frequency, fs)))) <= p.HalfWidth95 {
							inside++
						}
					}
					return inside / points
				}
				assert.GreaterOrEqual(t, held(20, 80), 0.9, "of 95 %, at the lowest; one session has some twenty independent points")
				assert.GreaterOrEqual(t, held(80, 5000), 0.9, "of 95 %")
				for _, b := range c.Bands(3) {
					if b.Known && b.High < 100 {
						assert.InDelta(t, bandTruth(m.x, y, fs, b.Low, b.High), b.Difference, 0.03+1.2*b.HalfWidth95,
							"dB in the band at %v Hz, since segments weigh the ends of the material less", b.Nominal)
					}
				}
			})
		}
	}
}
