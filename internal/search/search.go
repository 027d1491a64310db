// Package search finds a known sound in the samples of a channel: both are thinned to a lower rate,
// the channel is matched with the sound, whitened by its spectrum, and the match is placed between
// samples.
package search

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/interpolate"
	"example.com/earnest/internal/statistic"
)

// Matcher holds the spectrum of a channel, for matches with several sounds.
type Matcher struct {
	plan     *fft.Plan
	spectrum []complex128
	n        int
}

// NewMatcher transforms a channel x once. Sounds for its matches must not be longer than the
// longest of those given.
func NewMatcher(plans *fft.Cache, x []float64, sounds ...[]float64) *Matcher {
	longest := 0
	for _, s := range sounds {
		longest = max(longest, len(s))
	}
	plan := plans.Plan(fft.FastLen(len(x) + longest))
	return &Matcher{plan, plan.Forward(nil, x), len(x)}
}

// Deconvolve returns, for each sample of the channel, the match with s beginning there, whitened by
// the spectrum of s: the response to s, within its band.
func (m *Matcher) Deconvolve(s []float64) []float64 {
	b := flattened(m.plan, s)
	for k, v := range m.spectrum {
		b[k] *= v
	}
	return m.plan.Inverse(nil, b)[:m.n]
}

// longChannel is the number of thinned samples above which a channel is matched in blocks: 44 s.
const longChannel = 1 << 18

// Sounds holds sounds for matches with channels, one after the other or at the same time: their
// plans and spectra are made once.
type Sounds struct {
	sounds  [][]float64 // thinned; nil for one without samples
	longest int
	plans   fft.Cache
	lock    sync.Mutex
	flat    map[int][][]complex128 // by the length of the transform
}

// NewSounds returns Sounds of samples that are thinned already. They are kept, and must not change.
func NewSounds(sounds ...[]float64) *Sounds {
	s := &Sounds{sounds: sounds, flat: map[int][][]complex128{}}
	for _, x := range sounds {
		s.longest = max(s.longest, len(x))
	}
	return s
}

// flattened returns the factors for a channel's spectrum; nil for a sound without samples.
func (s *Sounds) flattened(plan *fft.Plan) [][]complex128 {
	s.lock.Lock()
	defer s.lock.Unlock()
	flat := s.flat[plan.Len()]
	if flat == nil {
		flat = make([][]complex128, len(s.sounds))
		for k, x := range s.sounds {
			if len(x) > 0 {
				flat[k] = flattened(plan, x)
			}
		}
		clear(s.flat) // recordings of one session have nearly the same length
		s.flat[plan.Len()] = flat
	}
	return flat
}

// Match thins a channel x and returns the result of Deconvolve for each of the sounds, nil for a
// sound without samples. It matches a long channel in blocks, so that beside the matches it takes
// memory for one block only. Blocks overlap by three times the longest sound, since a whitened
// sound rings before and after itself.
func (s *Sounds) Match(x []float64, step int) [][]float64 {
	out, n := make([][]float64, len(s.sounds)), len(x)/step
	length, before, hop := n+s.longest, 0, n
	if long := max(longChannel, 8*s.longest); n > long {
		length, before, hop = long, s.longest, fft.FastLen(long)-3*s.longest
	}
	plan := s.plans.Plan(fft.FastLen(length))
	flat := s.flattened(plan)
	for k, f := range flat {
		if f != nil {
			out[k] = make([]float64, n)
		}
	}
	block, match := make([]float64, plan.Len()), make([]float64, plan.Len())
	spectrum, product := make([]complex128, plan.Bins()), make([]complex128, plan.Bins())
	for at := 0; at < n; at += hop {
		clear(block)
		from, to := max(0, at-before), min(n, at-before+plan.Len())
		part := block[from-(at-before):][:to-from]
		thin(part, x[from*step:to*step], step)
		// An offset would begin and end with a step, which matches too.
		floats.AddConst(-floats.Sum(part)/float64(len(part)), part)
		plan.Forward(spectrum, block)
		for k, f := range flat {
			if f == nil {
				continue
			}
			for i, v := range spectrum {
				product[i] = v * f[i]
			}
			copy(out[k][at:min(n, at+hop)], plan.Inverse(match, product)[before:])
		}
	}
	return out
}

// Step returns the number of samples that are averaged into one before a search, to a rate of 6
// kHz.
func Step(sampleRate int) int { return max(1, sampleRate/6000) }

// Thin adds up every step samples into one.
func Thin(x []float64, step int) []float64 {
	out := make([]float64, len(x)/step)
	thin(out, x, step)
	return out
}

// Within returns the part of x[from:to] that is inside x, or nil if there is none.
func Within(x []float64, from, to int) []float64 {
	from, to = max(from, 0), min(to, len(x))
	if from >= to {
		return nil
	}
	return x[from:to]
}

// Cut returns a copy of x[from:to], with zeros outside x.
func Cut(x []float64, from, to int) []float64 {
	out := make([]float64, to-from)
	if a, b := max(from, 0), min(to, len(x)); a < b {
		copy(out[a-from:], x[a:b])
	}
	return out
}

// Self returns the height of the match of s with itself.
func Self(s []float64) float64 { return NewMatcher(nil, s, s).Deconvolve(s)[0] }

// Strongest returns the index of the largest magnitude in [from, to), or −1 if there is none.
func Strongest(x []float64, from, to int) int {
	best := -1
	for i := max(0, from); i < min(len(x), to); i++ {
		if best < 0 || math.Abs(x[i]) > math.Abs(x[best]) {
			best = i
		}
	}
	return best
}

// Magnitude returns |x[i]|, and 0 for an i below zero.
func Magnitude(x []float64, i int) float64 {
	if i < 0 {
		return 0
	}
	return math.Abs(x[i])
}

// Peak returns the position between samples of the peak of the magnitude that is largest at i, by
// the parabola through three values.
func Peak(x []float64, i int) float64 {
	if i < 1 || i+1 >= len(x) {
		return float64(i)
	}
	return float64(i) + interpolate.Vertex(math.Abs(x[i-1]), math.Abs(x[i]), math.Abs(x[i+1]))
}

// MedianMagnitude returns the median of the magnitudes of every fourth value, or of a quarter of a
// million out of more than a million.
func MedianMagnitude(x []float64) float64 {
	every := max(4, len(x)>>18)
	some := make([]float64, 0, len(x)/every+1)
	for i := 0; i < len(x); i += every {
		some = append(some, math.Abs(x[i]))
	}
	return statistic.Select(some, len(some)/2)
}

// Standing returns the level in dB of x[i] above the median magnitude within beside samples of it,
// or NaN if either is zero.
func Standing(x []float64, i, beside int) float64 {
	return decibel.OfAmplitude(math.Abs(x[i]) / MedianMagnitude(x[max(0, i-beside):min(len(x), i+beside)]))
}

// thin adds to dst.
func thin(dst, x []float64, step int) {
	for i := range len(x) / step {
		sum := dst[i]
		for _, v := range x[i*step : (i+1)*step] {
			sum += v
		}
		dst[i] = sum
	}
}

// flattened returns the factor of a spectrum for deconvolution by s.
func flattened(plan *fft.Plan, s []float64) []complex128 {
	b := plan.Forward(nil, s)
	var top float64
	for _, v := range b {
		top = max(top, fft.Power(v))
	}
	for k, v := range b {
		power := fft.Power(v) + 1e-3*top
		b[k] = complex(real(v)/power, -imag(v)/power)
	}
	return b
}
