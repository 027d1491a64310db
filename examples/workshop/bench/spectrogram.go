package bench

import (
	"math"

	"github.com/mjibson/go-dsp/window"

	"example.com/earnest/internal/fft"
)

// Spectrogram is the recording's level over time and frequency.
type Spectrogram struct {
	// Levels by row and column, the lowest frequency and the earliest time
	// first, in dBFS: a sine shows its peak level.
	Levels        [][]float64
	Low, High     float64 // Hz, the edges of the lowest and the highest row
	Linear        bool    // rows are as many hertz wide; otherwise as many octaves
	Start, Length float64 // s, the first being negative: before the sweep
}

// The frames of the spectrogram under a Hann window, and the transform, of
// twice their length so that the peaks between bins show.
const (
	frame     = 2048 // 43 ms
	transform = 2 * frame
)

// Spectrogram is the picture of the recording in so many rows and columns, from
// 20 Hz to 24 kHz, by short-time Fourier transforms. A row holds the
// highest level within its edges, or the level between two bins where it is
// narrower than they are apart.
func (r *Result) Spectrogram(columns, rows int) Spectrogram {
	s := Spectrogram{Low: audible.Low, High: sampleRate / 2, Linear: r.Settings.Linear == 1,
		Start: -r.Lead, Length: float64(len(r.Recording)) / sampleRate, Levels: make([][]float64, rows)}
	for i := range s.Levels {
		s.Levels[i] = make([]float64, columns)
	}
	hann, plan := window.Hann(frame), fft.NewPlan(transform)
	var sum float64
	for _, w := range hann {
		sum += w
	}
	x, bins, power := make([]float64, frame), make([]complex128, plan.Bins()), make([]float64, plan.Bins())
	for c := range columns {
		first := int((float64(c)+0.5)/float64(columns)*float64(len(r.Recording))) - frame/2
		for i, w := range hann {
			x[i] = 0
			if j := first + i; j >= 0 && j < len(r.Recording) {
				x[i] = w * r.Recording[j]
			}
		}
		plan.Forward(bins, x)
		for k, v := range bins {
			power[k] = (real(v)*real(v) + imag(v)*imag(v)) * 4 / (sum * sum)
		}
		for i := range rows {
			s.Levels[i][c] = 10 * math.Log10(between(power, s.edge(i, rows)/sampleRate*transform, s.edge(i+1, rows)/sampleRate*transform))
		}
	}
	return s
}

// edge is the lower edge in Hz of row i.
func (s Spectrogram) edge(i, rows int) float64 {
	share := float64(i) / float64(rows)
	if s.Linear {
		return s.Low + share*(s.High-s.Low)
	}
	return s.Low * math.Pow(s.High/s.Low, share)
}

// between is the largest of the values from index low to high, or, where no
// whole index lies there, the one on the straight line in the middle.
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
