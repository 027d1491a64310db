package distortion

import (
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/mjibson/go-dsp/spectral"
	"github.com/mjibson/go-dsp/window"

	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// ErrSilence is returned for a silence from which no floor can be known.
var ErrSilence = errors.New("the silence cannot be used")

// noise is the power spectral density of a silence, as deconvolution by a
// sweep would show it.
type noise struct {
	sweep *sweep.Sweep
	sum   []float64 // running sum of the density, full scale² per Hz, one-sided
	step  float64   // Hz between densities
}

// The segments of Welch's method: the longest, and the shortest worth having.
const (
	longestSegment  = 8192
	shortestSegment = 256
)

// noise estimates the noise of the silence; nil when there is none.
func (c Config) noise(s *sweep.Sweep) (*noise, error) {
	return newNoise(c.Silence, c.SilenceRate, max(1, c.Averages), s)
}

// newNoise estimates the density by Welch's method (IEEE Trans. AU 15(2),
// 1967): Hann windows of at most 8192 samples, half overlapping.
func newNoise(silence []float64, rate, averages int, s *sweep.Sweep) (*noise, error) {
	switch {
	case len(silence) == 0:
		return nil, nil
	case rate != 0 && rate != s.SampleRate():
		return nil, fmt.Errorf("distortion: %w: it was recorded at %d Hz, the sweep at %d Hz; record both at one rate", ErrSilence, rate, s.SampleRate())
	case len(silence) < 2*shortestSegment:
		return nil, fmt.Errorf("distortion: %w: it is %d samples long; record at least 0.1 s of it", ErrSilence, len(silence))
	}
	var mean float64
	for i, v := range silence {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, fmt.Errorf("distortion: %w: sample %d is %v; record it again", ErrSilence, i+1, v)
		}
		mean += v / float64(len(silence))
	}
	segment := longestSegment
	for segment > len(silence)/2 {
		segment /= 2
	}
	still := make([]float64, len(silence))
	for i, v := range silence {
		still[i] = v - mean // an offset would leak into the lowest densities
	}
	density, f := spectral.Pwelch(still, float64(s.SampleRate()), &spectral.PwelchOptions{
		NFFT: segment, Noverlap: segment / 2, Window: window.Hann,
	})
	n := &noise{sweep: s, step: f[1], sum: make([]float64, len(density)+1)}
	for k, d := range density {
		n.sum[k+1] = n.sum[k] + d/float64(averages)
	}
	return n, nil
}

// density is the mean power density about f Hz, over a sixth of an octave or
// five bins, whichever is the wider: one bin by itself scatters by a decibel.
// It is NaN outside the bins, and where all of it is zero: a silence of digital
// zeros is not one that a converter makes.
func (n *noise) density(f float64) float64 {
	sixth := math.Exp2(1.0 / 12)
	low := min(int(math.Round(f/sixth/n.step)), int(math.Round(f/n.step))-2)
	high := max(int(math.Round(f*sixth/n.step)), int(math.Round(f/n.step))+2)
	// The lowest bin is what the mean left, the highest is a half one.
	last := len(n.sum) - 3
	low, high = max(1, low), min(last, high)
	if centre := f / n.step; !(centre >= 0.5 && centre <= float64(last)+0.5) {
		return math.NaN()
	}
	return n.mean(low, high)
}

// mean is the mean density of the bins from low to high, both included.
func (n *noise) mean(low, high int) float64 {
	sum := n.sum[high+1] - n.sum[low]
	if !(sum > 0) {
		return math.NaN()
	}
	return sum / float64(high-low+1)
}

// amplitude is the root mean square, full scale per full scale, that the noise
// shows at f Hz through a window on the deconvolved recording: its two-sided
// density, S fs/2 a sample, summed over the squared window and divided by the
// sweep's own spectrum.
func (n *noise) amplitude(f float64, before, after time.Duration) float64 {
	fs := float64(n.sweep.SampleRate())
	energy := (before + after).Seconds() * fs * response.WindowPower(before, after)
	return math.Sqrt(energy*n.density(f)*fs/2) / n.sweep.SpectrumLevel(f)
}
