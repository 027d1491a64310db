package tone_test

import (
	"math"
	"math/rand/v2"
)

// partial is a sine of a test signal.
type partial struct{ frequency, amplitude, phase float64 }

// sum adds up partials over n samples; the sums are exact except for rounding.
func sum(n, sampleRate int, partials ...partial) []float64 {
	x := make([]float64, n)
	for _, p := range partials {
		for i := range x {
			cycles := p.frequency * float64(i) / float64(sampleRate)
			x[i] += p.amplitude * math.Sin(2*math.Pi*(cycles-math.Floor(cycles))+p.phase)
		}
	}
	return x
}

// many returns the frequencies of tones on odd multiples of the repetition frequency, about three to
// the octave, and a signal of a number of periods in which each has an amplitude of 0.02.
func many(period, sampleRate int, low, high float64, periods int) (tones, x []float64) {
	base := float64(sampleRate) / float64(period)
	var partials []partial
	for f := low; f <= high; f *= 1.26 {
		k := 2*math.Round((f/base-1)/2) + 1
		if len(tones) == 0 || k*base >= tones[len(tones)-1]+3.5*base {
			partials = append(partials, partial{k * base, 0.02, float64(len(tones) * len(tones))})
			tones = append(tones, k*base)
		}
	}
	return tones, sum(periods*period, sampleRate, partials...)
}

// noisy adds Gaussian noise of an rms to x, in place.
func noisy(x []float64, rms float64, seed uint64) []float64 {
	random := rand.New(rand.NewPCG(seed, 4))
	for i := range x {
		x[i] += rms * random.NormFloat64()
	}
	return x
}

// quantised rounds to a number of bits, full scale = 1, with triangular dither of 2 steps peak to
// peak if dither is set.
func quantised(x []float64, bits int, dither bool, seed uint64) []float64 {
	random := rand.New(rand.NewPCG(seed, 5))
	step := math.Ldexp(1, 1-bits)
	y := make([]float64, len(x))
	for i, v := range x {
		v /= step
		if dither {
			v += random.Float64() - random.Float64()
		}
		y[i] = math.RoundToEven(v) * step
	}
	return y
}

// through applies a memoryless polynomial, c[k] x^k, to a copy of x.
func through(x []float64, c ...float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		for k := len(c) - 1; k >= 0; k-- {
			y[i] = y[i]*v + c[k]
		}
	}
	return y
}

func dB(ratio float64) float64 { return 20 * math.Log10(ratio) }
