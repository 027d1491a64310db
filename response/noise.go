package response

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/mjibson/go-dsp/window"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/fft"
	"example.com/earnest/smoothing"
)

// ErrSilence means that a silence gives no noise density.
var ErrSilence = errors.New("the silence cannot be used")

// Noise is the power spectral density of a rig's noise, from a recording of silence.
type Noise struct {
	sampleRate int
	densities  []float64 // full scale² per Hz, one-sided
	step       float64   // Hz between densities
	segments   float64   // number of independent segments that were averaged
}

// The segments of Welch's method: the longest, and the shortest that is useful.
const (
	longestSegment  = 8192
	shortestSegment = 256
)

// NewNoise estimates the noise of a silence, full scale 1, at a sample rate in Hz, by Welch's
// method (IEEE Trans. AU 15(2), 1967): Hann windows of at most 8192 samples, half overlapping, with
// the mean subtracted. A silence that is too short or not finite, or has no sample rate, gives
// ErrSilence.
func NewNoise(silence []float64, sampleRate int) (*Noise, error) {
	if sampleRate < 1 {
		return nil, fmt.Errorf("response: %w: its sample rate is %d Hz; give the rate at which it was recorded",
			ErrSilence, sampleRate)
	}
	if len(silence) < 2*shortestSegment {
		return nil, fmt.Errorf("response: %w: it is %d samples long; record at least 0.1 s of it", ErrSilence,
			len(silence))
	}
	if i := slices.IndexFunc(silence, func(v float64) bool { return v-v != 0 }); i >= 0 {
		return nil, fmt.Errorf("response: %w: sample %d is %v; record it again", ErrSilence, i+1, silence[i])
	}
	segment := longestSegment
	for segment > len(silence)/2 {
		segment /= 2
	}
	return &Noise{sampleRate: sampleRate, densities: welch(silence, segment, float64(sampleRate)),
		step: float64(sampleRate) / float64(segment), segments: float64(len(silence)) / float64(segment)}, nil
}

// Averaged returns the noise in the mean of count recordings: its power is divided by count. It
// panics if count < 1.
func (n *Noise) Averaged(count int) *Noise {
	if count < 1 {
		panic("response: an average needs at least one recording")
	}
	out := *n
	out.densities = floats.ScaleTo(make([]float64, len(n.densities)), 1/float64(count), n.densities)
	return &out
}

// relative returns the relative standard uncertainty of a density that is a mean over five bins,
// the fewest: one value of a periodogram has a standard deviation equal to its mean.
func (n *Noise) relative() float64 { return 1 / math.Sqrt(5*n.segments) }

// density returns the mean power density in full scale² per Hz, one-sided, about f Hz. It is NaN
// beyond the bins, and if all of it is zero: no converter gives digital zeros for silence.
func (n *Noise) density(f float64) float64 {
	if centre := f / n.step; !(centre >= 0.5 && centre <= float64(len(n.densities))-1.5) {
		return math.NaN()
	}
	from, to := n.about(f)
	return positive(stat.Mean(n.densities[from:to], nil))
}

// about returns the range of densities that are averaged about f Hz, [from, to): a sixth of an
// octave or five bins, whichever is the wider, since one bin alone scatters by a decibel. The
// lowest bin is the remainder of the mean, and the highest is a half one.
func (n *Noise) about(f float64) (from, to int) {
	sixth, at := math.Exp2(1.0/12), int(math.Round(f/n.step))
	from, to = min(int(math.Round(f/sixth/n.step)), at-2), max(int(math.Round(f*sixth/n.step)), at+2)+1
	return max(1, from), min(len(n.densities)-1, to)
}

// DegreesOfFreedom returns the number of degrees of freedom of the density about f Hz: two for each
// bin and each segment, less the share that a Hann window correlates between neighbouring bins
// (35/18 bins are one) and between half-overlapping segments (19/18).
func (n *Noise) DegreesOfFreedom(f float64) float64 {
	from, to := n.about(f)
	return 2 * float64(to-from) * (2*n.segments - 1) / (35. / 18 * 19 / 18)
}

// Power returns the power in full scale² within a band. The density is taken as constant over each
// bin, so the powers of adjoining bands add. It is NaN for a band narrower than a bin, for one that
// reaches below the first bin or above half the sample rate, and if all of it is zero.
func (n *Noise) Power(b Band) float64 {
	if low, high := b.Low/n.step, b.High/n.step; !(low >= 0.5 && high-low >= 1 &&
		high <= float64(len(n.densities))-1+1e-9) {
		return math.NaN()
	}
	return positive(smoothing.BandPower(nil, n.densities, n.step, []smoothing.Band{{Low: b.Low, High: b.High}})[0])
}

// welch returns the mean of the periodograms of segments that overlap by half, in power per Hz. It
// transforms one segment after the other in the same memory.
func welch(x []float64, segment int, sampleRate float64) []float64 {
	plan, hann := fft.NewPlan(segment), window.Hann(segment)
	work, bins, out := make([]float64, segment), make([]complex128, plan.Bins()), make([]float64, plan.Bins())
	offset := stat.Mean(x, nil) // it would leak into the lowest densities
	count := 0.0
	for at := 0; at+segment <= len(x); at += segment / 2 {
		for i, w := range hann {
			work[i] = w * (x[at+i] - offset)
		}
		for k, v := range plan.Forward(bins, work) {
			out[k] += fft.Power(v)
		}
		count++
	}
	scale := 2 / (count * sampleRate * floats.Dot(hann, hann)) // for both signs of frequency
	floats.Scale(scale, out)
	out[0], out[segment/2] = out[0]/2, out[segment/2]/2
	return out
}

// positive returns v, or NaN unless v is above zero.
func positive(v float64) float64 {
	if v > 0 {
		return v
	}
	return math.NaN()
}
