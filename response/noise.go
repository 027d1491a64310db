package response

import (
	"errors"
	"fmt"
	"math"

	"github.com/mjibson/go-dsp/spectral"
	"github.com/mjibson/go-dsp/window"
)

// ErrSilence is returned for a silence from which no noise can be known.
var ErrSilence = errors.New("the silence cannot be used")

// Noise is the power spectral density of a rig's noise, known from a recording
// of nothing.
type Noise struct {
	sampleRate int
	sum        []float64 // running sum of the density, full scale² per Hz, one-sided
	step       float64   // Hz between densities
}

// The segments of Welch's method: the longest, and the shortest worth having.
const (
	longestSegment  = 8192
	shortestSegment = 256
)

// NewNoise estimates the noise of a silence, full scale 1, at a sample rate in
// Hz, by Welch's method (IEEE Trans. AU 15(2), 1967): Hann windows of at most
// 8192 samples, half overlapping, the mean taken off. A silence that is too
// short or not finite, or has no sample rate, gives ErrSilence.
func NewNoise(silence []float64, sampleRate int) (*Noise, error) {
	if sampleRate < 1 {
		return nil, fmt.Errorf("response: %w: its sample rate is %d Hz; give the rate at which it was recorded", ErrSilence, sampleRate)
	}
	if len(silence) < 2*shortestSegment {
		return nil, fmt.Errorf("response: %w: it is %d samples long; record at least 0.1 s of it", ErrSilence, len(silence))
	}
	var mean float64
	for i, v := range silence {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, fmt.Errorf("response: %w: sample %d is %v; record it again", ErrSilence, i+1, v)
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
	density, f := spectral.Pwelch(still, float64(sampleRate), &spectral.PwelchOptions{
		NFFT: segment, Noverlap: segment / 2, Window: window.Hann,
	})
	n := &Noise{sampleRate: sampleRate, step: f[1], sum: make([]float64, len(density)+1)}
	for k, d := range density {
		n.sum[k+1] = n.sum[k] + d
	}
	return n, nil
}

// Averaged is the noise in the mean of a number of recordings: its power is
// that much less. It panics if count < 1.
func (n *Noise) Averaged(count int) *Noise {
	if count < 1 {
		panic("response: an average needs at least one recording")
	}
	out := *n
	out.sum = make([]float64, len(n.sum))
	for i, v := range n.sum {
		out.sum[i] = v / float64(count)
	}
	return &out
}

// density is the mean power density in full scale² per Hz, one-sided, about f
// Hz: over a sixth of an octave or five bins, whichever is the wider, for one
// bin by itself scatters by a decibel. It is NaN beyond the bins, and where all
// of it is zero: a silence of digital zeros is not one that a converter makes.
func (n *Noise) density(f float64) float64 {
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
func (n *Noise) mean(low, high int) float64 {
	sum := n.sum[high+1] - n.sum[low]
	if !(sum > 0) {
		return math.NaN()
	}
	return sum / float64(high-low+1)
}

// Power is the power in full scale² within a band; the density is taken as
// constant over each bin, so bands that meet add up to the band of both. It is NaN
// for a band narrower than a bin, for one that reaches below the first bin or
// above half the sample rate, and where all of it is zero.
func (n *Noise) Power(b Band) float64 {
	low, high := b.Low/n.step+0.5, b.High/n.step+0.5 // in bins, from the lower edge of the first
	if !(low >= 1 && high-low >= 1 && high <= float64(len(n.sum))-1.5+1e-9) {
		return math.NaN()
	}
	power := n.step * (n.upTo(high) - n.upTo(low))
	if !(power > 0) {
		return math.NaN()
	}
	return power
}

// upTo is the sum of the densities of so many bins, of the last in proportion.
func (n *Noise) upTo(bins float64) float64 {
	k := int(bins)
	return n.sum[k] + (bins-float64(k))*(n.sum[k+1]-n.sum[k])
}
