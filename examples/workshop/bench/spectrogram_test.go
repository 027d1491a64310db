package bench

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A sine of amplitude A has a level of 20 log10 A dBFS peak.
func TestSpectrogramShowsASineAtItsLevel(t *testing.T) {
	r := &Result{Settings: Default(), Recording: make([]float64, sampleRate)}
	for i := range r.Recording {
		r.Recording[i] = 0.1 * math.Sin(2*math.Pi*1000*float64(i)/sampleRate)
	}
	for _, linear := range []float64{0, 1} {
		r.Settings.Linear = linear
		s := r.Spectrogram(20, 200)
		row := loudestRow(s, 10)
		assert.InDelta(t, -20, s.Levels[row][10], 0.4, "a Hann window's scalloping loss is 1.42 dB, a quarter of it on twice the bins (Harris 1978)")
		assert.True(t, s.edge(row, 200) <= 1012 && s.edge(row+1, 200) >= 988, "a bin of 12 Hz from 1 kHz")
	}
}

// The sweep is at f1 exp(t/L) at every time t (Farina 2000).
func TestSpectrogramFollowsTheSweep(t *testing.T) {
	r := measure(t, func(s *Settings) {})
	const columns, rows = 300, 200
	s := r.Spectrogram(columns, rows)
	for _, c := range []int{120, 150, 200} {
		at := s.Start + (float64(c)+0.5)/columns*s.Length
		row := loudestRow(s, c)
		octaves := math.Log2(s.edge(row, rows) / r.Sweep.FrequencyAt(at))
		assert.InDelta(t, 0, octaves, 0.2, "at %.2f s; the window lasts 0.4 octaves", at)
	}
}

func loudestRow(s Spectrogram, column int) int {
	best := 0
	for i := range s.Levels {
		if s.Levels[i][column] > s.Levels[best][column] {
			best = i
		}
	}
	return best
}
