package bench

import (
	"math"

	"github.com/mjibson/go-dsp/window"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/parallel"
)

// Spectrogram is the recording's level over time and frequency.
type Spectrogram struct {
	// Levels by row and column, the lowest frequency and the earliest time
	// first, in dBFS: a sine shows its peak level.
	Levels        [][]float64
	Low, High     float64 // Hz, the edges of the lowest and the highest row
	Linear        bool    // rows are equally wide in Hz; otherwise in octaves
	Start, Length float64 // s; Start is negative, before the sweep
}

// The frames of the spectrogram under a Hann window, and the transform, of
// twice their length so that the peaks between bins show.
const (
	frame     = 2048 // 43 ms
	transform = 2 * frame
)

// Spectrogram returns the spectrogram of the recording with the given columns and rows, from 20 Hz
// to 24 kHz, from short-time Fourier transforms. A row holds the highest level between its edges.
// If it is narrower than the bins, its level is interpolated between two bins.
func (r *Result) Spectrogram(columns, rows int) Spectrogram {
	s := Spectrogram{Low: audible.Low, High: sampleRate / 2, Linear: r.Settings.Linear == 1,
		Start: -r.Lead, Length: float64(len(r.Recording)) / sampleRate, Levels: make([][]float64, rows)}
	for i := range s.Levels {
		s.Levels[i] = make([]float64, columns)
	}
	edges := make([]float64, rows+1) // in bins
	for i := range edges {
		edges[i] = s.edge(i, rows) / sampleRate * transform
	}
	plan := fft.NewPlan(transform)
	parallel.With(columns, func() func(int) {
		frames := newFrames(plan)
		return func(c int) {
			power := frames.power(r.Recording, int((float64(c)+0.5)/float64(columns)*float64(len(r.Recording))))
			for i := range rows {
				s.Levels[i][c] = 10 * math.Log10(between(power, edges[i], edges[i+1])) // −Inf gets the first colour
			}
		}
	})
	return s
}

// edge returns the lower edge of row i in Hz.
func (s Spectrogram) edge(i, rows int) float64 {
	share := float64(i) / float64(rows)
	if s.Linear {
		return s.Low + share*(s.High-s.Low)
	}
	return s.Low * math.Pow(s.High/s.Low, share)
}

// frames computes the transforms of single frames.
type frames struct {
	plan     *fft.Plan
	hann, x  []float64
	bins     []complex128
	spectrum []float64
	scale    float64
}

func newFrames(plan *fft.Plan) *frames {
	f := &frames{plan, window.Hann(frame), make([]float64, frame), make([]complex128, plan.Bins()),
		make([]float64, plan.Bins()), 0}
	var sum float64
	for _, w := range f.hann {
		sum += w
	}
	f.scale = 4 / (sum * sum)
	return f
}

// power returns the spectrum of the frame about a sample, scaled so that a sine shows its amplitude
// squared. Samples outside the recording are zero. The next call reuses the slice.
func (f *frames) power(recording []float64, centre int) []float64 {
	for i, w := range f.hann {
		f.x[i] = 0
		if j := centre - frame/2 + i; j >= 0 && j < len(recording) {
			f.x[i] = w * recording[j]
		}
	}
	f.plan.Forward(f.bins, f.x)
	for k, v := range f.bins {
		f.spectrum[k] = (real(v)*real(v) + imag(v)*imag(v)) * f.scale
	}
	return f.spectrum
}

// between returns the largest value from index low to high or, if no whole index lies there, the
// value interpolated at the middle.
func between(values []float64, low, high float64) float64 {
	from, to := int(math.Ceil(low)), min(int(math.Floor(high)), len(values)-1)
	if from > to {
		middle := (low + high) / 2
		k := min(int(middle), len(values)-2)
		part := middle - float64(k)
		return values[k]*(1-part) + values[k+1]*part
	}
	most := values[from]
	for _, v := range values[from : to+1] {
		most = max(most, v)
	}
	return most
}
