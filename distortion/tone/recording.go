package tone

import (
	"fmt"
	"math"
	"sync"
	"sync/atomic"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/response"
	"example.com/earnest/smoothing"
)

// recording is a recording that can be analysed, with its window and its spectrum. Every analysis
// finds lines in it, fits a comb to them, and returns the components of the comb.
type recording struct {
	config Config
	x      []float64
	whole  spectrum // of x less its mean
	*length
}

// duration returns the length in seconds.
func (r *recording) duration() float64 { return float64(len(r.x)) / r.rate }

// long returns an error if the recording is shorter than need seconds.
func (r *recording) long(need float64, why string) error {
	if r.duration() < need*(1-1e-3) {
		return tooShort(r.duration(), need, why)
	}
	return nil
}

// periods returns an error if the recording holds fewer than count periods of a tone.
func (r *recording) periods(count int, frequency float64) error {
	return r.long(float64(count)/frequency, fmt.Sprintf("%d periods of %s", count, response.FormatFrequency(frequency)))
}

// find returns the strongest tone, or the strongest within side Hz of a wanted one.
func (r *recording) find(wanted, side float64) (peak, error) {
	top, ok := r.whole.tone(r.all(), nil)
	if wanted == 0 && ok {
		return top, nil
	}
	if wanted > 0 {
		side = max(side, 3*r.whole.resolution)
		if there, ok := r.whole.tone(response.Band{Low: wanted - side, High: wanted + side}, nil); ok {
			return there, nil
		}
	}
	return peak{}, r.absent(wanted)
}

// absent returns the error for a tone that was not found, which names the strongest sound instead;
// wanted is 0 for any tone.
func (r *recording) absent(wanted float64) error {
	what := "no tone stands out"
	if wanted > 0 {
		what += " at " + response.FormatFrequency(wanted)
	}
	if top, ok := r.whole.tone(r.all(), nil); ok {
		return fmt.Errorf("tone: %w: %s; the strongest thing there is %s at %.1f dBFS: "+
			"check which recording this is, and the frequency asked for",
			ErrAbsent, what, response.FormatFrequency(top.frequency), decibel.OfAmplitude(top.amplitude))
	}
	return fmt.Errorf("tone: %w: %s above the noise, and the offset is %.3g of full scale: "+
		"check that something was played, and the input it was recorded from", ErrAbsent, what, stat.Mean(r.x, nil))
}

// all returns the band in which tones are searched for. It begins at the lowest frequency at which
// the window separates a tone from a DC offset.
func (r *recording) all() response.Band {
	return response.Band{Low: 3 * r.whole.resolution, High: r.rate / 2}
}

// length is what all recordings of one length and rate share.
type length struct {
	samples int
	rate    float64 // Hz
	window  window
	plan    *fft.Plan
	weights func() []float64 // A-weighting of power at the frequencies of the spectrum
}

// lastLength is that of the recording that was analysed last: steady tones of one stimulus are as
// long.
var lastLength atomic.Pointer[length]

func lengthOf(samples int, rate float64) *length {
	if l := lastLength.Load(); l != nil && l.samples == samples && l.rate == rate {
		return l
	}
	l := &length{samples: samples, rate: rate, window: newWindow(samples), plan: fft.NewPlan(fft.FastLen(samples))}
	l.weights = sync.OnceValue(func() []float64 {
		weights := make([]float64, l.plan.Bins())
		for k := range weights {
			weights[k] = decibel.Power(smoothing.AWeighting(l.plan.Frequency(k, rate)))
		}
		return weights
	})
	lastLength.Store(l)
	return l
}

// minSamples is the length of the shortest recording; a spectrum of fewer bins is useless.
const minSamples = 256

// open returns an error for an impossible configuration, and for a recording that cannot be
// analysed at all.
func open(x []float64, sampleRate int, c Config) (*recording, error) {
	c, err := c.complete(sampleRate)
	if err != nil {
		return nil, err
	}
	fs := float64(sampleRate)
	if len(x) < minSamples {
		return nil, tooShort(float64(len(x))/fs, minSamples/fs, fmt.Sprintf("%d samples", minSamples))
	}
	for i, v := range x {
		if v-v != 0 || math.Abs(v) > 1e100 {
			return nil, fmt.Errorf("tone: sample %d, at %.4g s, is %w; read the recording again", i, float64(i)/fs, ErrNotFinite)
		}
	}
	r := &recording{config: c, x: x, length: lengthOf(len(x), fs)}
	r.whole = r.spectrum(centred(x))
	return r, nil
}

// centred returns x less its mean.
func centred(x []float64) []float64 {
	m, y := stat.Mean(x, nil), make([]float64, len(x))
	for i, v := range x {
		y[i] = v - m
	}
	return y
}
