package smoothing_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.com/earnest/smoothing"
)

// spectrum returns 65 536 bins at 48 kHz, with noise.
func spectrum() (frequency, power []float64) {
	rng := rand.New(rand.NewPCG(31, 32))
	frequency = bins(65536, 24000.0/65536)
	power = make([]float64, len(frequency))
	for i := range power {
		power[i] = rng.ExpFloat64()
	}
	return frequency, power
}

func BenchmarkOctave(b *testing.B) {
	frequency, power := spectrum()
	h := make([]complex128, len(power))
	for i := range h {
		h[i] = complex(power[i], 1)
	}
	holes := append([]float64(nil), power...)
	for i := 500; i < len(holes); i += 500 {
		holes[i] = math.NaN()
	}
	for _, c := range []struct {
		name   string
		centre []float64
	}{{"480 points", logGrid(20, 20000, 480)}, {"itself", frequency}} {
		p := octave(b, frequency, c.centre, 12)
		b.Run("plan/"+c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				octave(b, frequency, c.centre, 12)
			}
		})
		dst, out := make([]float64, len(c.centre)), make([]complex128, len(c.centre))
		for _, m := range []struct {
			name string
			run  func()
		}{
			{"power/", func() { p.Mean(dst, power) }},
			{"power with gaps/", func() { p.Mean(dst, holes) }},
			{"complex/", func() { p.Complex(out, h) }},
		} {
			b.Run(m.name+c.name, func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					m.run()
				}
			})
		}
	}
}

func BenchmarkBandPower(b *testing.B) {
	_, density := spectrum()
	third := bands(b, 3, 20, 20000)
	dst := make([]float64, len(third))
	b.ReportAllocs()
	for b.Loop() {
		smoothing.BandPower(dst, density, 24000.0/65536, third)
	}
}
