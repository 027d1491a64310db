package level

import (
	"fmt"
	"iter"

	"github.com/mjibson/go-dsp/window"

	"example.com/earnest/internal/fft"
)

// segments divides samples into segments under a Hann window that overlap by half (Welch, IEEE
// Trans. AU 15(2), 1967) and transforms them.
type segments struct {
	rate    float64
	length  int
	plan    *fft.Plan
	window  []float64
	scratch []float64
	energy  float64 // Σ w²
}

func newSegments(sampleRate int, seconds float64) *segments {
	n := fft.FastLen(max(16, int(seconds*float64(sampleRate))))
	s := &segments{rate: float64(sampleRate), length: n, plan: fft.NewPlan(n), window: window.Hann(n),
		scratch: make([]float64, n)}
	for _, w := range s.window {
		s.energy += w * w
	}
	return s
}

// count returns the number of segments in n samples.
func (s *segments) count(n int) int {
	if n < s.length {
		return 0
	}
	return (n-s.length)/(s.length/2) + 1
}

// starts returns the first sample of each segment in n samples.
func (s *segments) starts(n int) iter.Seq[int] {
	return func(yield func(int) bool) {
		for i := range s.count(n) {
			if !yield(i * (s.length / 2)) {
				return
			}
		}
	}
}

// spectrum returns the transform of the segment at the beginning of x, in dst unless that is nil.
func (s *segments) spectrum(dst []complex128, x []float64) []complex128 {
	for i, w := range s.window {
		s.scratch[i] = w * x[i]
	}
	return s.plan.Forward(dst, s.scratch)
}

// density returns the one-sided power density of a segment per Hz, full scale being 1. Its sum
// times the width of a bin is the mean square.
func (s *segments) density(dst []float64, spectrum []complex128) []float64 {
	if dst == nil {
		dst = make([]float64, len(spectrum))
	}
	scale := 2 / (s.rate * s.energy)
	for k, v := range spectrum {
		dst[k] = scale * fft.Power(v)
	}
	return dst
}

// spacing returns the width of a bin in Hz.
func (s *segments) spacing() float64 { return s.rate / float64(s.length) }

// checkRate returns an error for a sample rate in Hz that no recorder has, so that a wrong header
// cannot make the analysis take memory without bound.
func checkRate(sampleRate int) error {
	const least, most = 8000, 768000
	if sampleRate < least || sampleRate > most {
		return fmt.Errorf("level: sample rate %w: %d Hz; record at 48 kHz", ErrInput, sampleRate)
	}
	return nil
}
