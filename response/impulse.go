package response

import (
	"errors"
	"fmt"
	"math"
	"time"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/fft"
	"example.com/earnest/sweep"
)

// ErrNoPeak is returned when an impulse response has no peak that stands out:
// the recording does not hold the sweep that it was deconvolved with.
var ErrNoPeak = errors.New("the deconvolved peak is not a peak")

// Impulse is an impulse response.
type Impulse struct {
	// Samples of the response; index i is at (i − Zero)/SampleRate seconds.
	Samples []float64
	// SampleRate in Hz.
	SampleRate int
	// Zero is the index of time zero; it may lie outside Samples.
	Zero int
	// Valid is the band that was excited.
	Valid Band

	plans *fft.Cache    // of the deconvolver it comes from; nil will do
	clear time.Duration // before the peak, of harmonics; 0 when not known
}

// Time is the time in seconds of sample i.
func (h *Impulse) Time(i int) float64 { return float64(i-h.Zero) / float64(h.SampleRate) }

// minProminence is how far in dB the peak of a deconvolved sweep must stand
// above the loudest stretch that is not near it. Measured on 20 Hz–20 kHz
// sweeps of 3 to 8 s, no sweep at all gives at most 14 (noise of any colour,
// tones), the sweep reversed 9, a sweep of another band or a linear one up to
// 19, one longer or shorter by 5 % or more up to 24 (at 3 s, 34), a click 24.
// The sweep gives 150 without noise, 42 to 46 where it is clipped to a half or
// a twentieth, and in 6 s 56 in white noise 10 dB below it, 46 in noise as
// strong as itself and 36 in noise 10 dB above it; noise of low frequencies
// costs 8 dB more, a device that falls above 10 kHz 5 dB. A clock that is 1 %
// off still gives 60.
const minProminence = 24

// stretch is how long in seconds the stretches are that a peak is held
// against, and how far from it they begin at the least.
const stretch = 0.05

// Prominence is how far, in dB, the peak stands above the rms of the loudest
// 50 ms elsewhere. Elsewhere begins 50 ms away from the peak, or two periods of
// the lowest frequency of the valid band where that is more, for a response
// that begins at 20 Hz rings at 20 Hz. It is NaN for a response that has no
// elsewhere.
func (h *Impulse) Prominence() float64 {
	return h.prominence(h.largest())
}

func (h *Impulse) prominence(peak int, height float64) float64 {
	fs := float64(h.SampleRate)
	length := int(stretch * fs)
	near := length
	if h.Valid.Low > 0 {
		near = max(near, int(2*fs/h.Valid.Low))
	}
	loudest := max(
		loudestPower(h.Samples[:max(0, peak-near)], length),
		loudestPower(h.Samples[min(len(h.Samples), peak+near+1):], length))
	return 20*math.Log10(height) - 10*math.Log10(loudest)
}

// loudestPower is the largest mean square of a whole stretch of so many samples;
// NaN where there is none.
func loudestPower(x []float64, length int) float64 {
	loudest := math.Inf(-1)
	for ; len(x) >= length && length > 0; x = x[length:] {
		loudest = max(loudest, floats.Dot(x[:length], x[:length])/float64(length))
	}
	return loudest
}

// largest is the sample of the largest magnitude; its height is NaN where a sample
// is not a number.
func (h *Impulse) largest() (index int, height float64) {
	for i, v := range h.Samples {
		if a := math.Abs(v); !(a <= height) {
			if v-v != 0 {
				return i, math.NaN()
			}
			index, height = i, a
		}
	}
	return index, height
}

// Peak is the index of the sample of the largest magnitude. It gives ErrNoPeak
// when that does not stand out by at least 24 dB (see Prominence), or when
// there is nothing to find it in.
func (h *Impulse) Peak() (int, error) {
	peak, height := h.largest()
	p := h.prominence(peak, height)
	switch {
	case !(height > 0):
		return 0, fmt.Errorf("response: %w: the response is empty", ErrNoPeak)
	case p < minProminence:
		return 0, fmt.Errorf("response: %w: it stands %.0f dB above the rest, and a sweep's at least %d dB; "+
			"check that the recording is of this sweep, at its speed and sample rate, and not lost in noise", ErrNoPeak, p, minProminence)
	}
	return peak, nil // a response too short to have a rest has its peak
}

// Delay is the time in seconds from time zero to the peak of the magnitude, to
// a fraction of a sample: the band-limited signal through the samples is
// searched for its maximum within one sample of the largest.
func (h *Impulse) Delay() (float64, error) {
	peak, err := h.Peak()
	if err != nil {
		return 0, err
	}
	// Golden-section search; the interpolated magnitude has one maximum here.
	const ratio = 0.6180339887498949
	low, high := float64(peak)-1, float64(peak)+1
	for high-low > 1e-5 {
		a, b := high-ratio*(high-low), low+ratio*(high-low)
		if math.Abs(h.between(a)) > math.Abs(h.between(b)) {
			high = b
		} else {
			low = a
		}
	}
	return ((low+high)/2 - float64(h.Zero)) / float64(h.SampleRate), nil
}

// between is the value at a fractional index by sinc interpolation under a
// Hann window of 64 samples.
func (h *Impulse) between(x float64) float64 {
	const half = 32
	var sum float64
	for i := int(math.Ceil(x - half)); i <= int(math.Floor(x+half)); i++ {
		if i < 0 || i >= len(h.Samples) {
			continue
		}
		u := x - float64(i)
		w := 0.5 + 0.5*math.Cos(math.Pi*u/half)
		if u != 0 {
			w *= math.Sin(math.Pi*u) / (math.Pi * u)
		}
		sum += w * h.Samples[i]
	}
	return sum
}

// The window that Window takes when it is given no lengths. What comes before
// the peak matters too: a response known down to 20 Hz only rings at 20 Hz on
// both sides.
const (
	DefaultBefore = 200 * time.Millisecond
	DefaultAfter  = 500 * time.Millisecond
)

// clearOfSecond is how much of the way back to the second harmonic the linear
// response may be taken to reach.
const clearOfSecond = 0.4

// DefaultWindow is the window that Window takes, when it is given no lengths, of
// an impulse response deconvolved by s: DefaultBefore and DefaultAfter, but
// before the peak no more than 0.4 of the way to the second harmonic, which in a
// short sweep stands nearer.
func DefaultWindow(s *sweep.Sweep) (before, after time.Duration) {
	clear := time.Duration(clearOfSecond * s.HarmonicAdvance(2) * float64(time.Second))
	return min(DefaultBefore, clear), DefaultAfter
}

// Window cuts out the response from before its peak to after it; 0 means the
// defaults (DefaultWindow). The first half of the part before the peak and the last quarter of
// the part after it are raised-cosine tapers; what lies outside the samples is
// zero. Time zero stays where it is. The valid band begins no lower than one
// period in the part after the peak.
//
// It gives ErrNoPeak when there is no peak to stand at.
func (h *Impulse) Window(before, after time.Duration) (*Impulse, error) {
	if before == 0 {
		before = DefaultBefore
		if h.clear > 0 {
			before = min(before, h.clear)
		}
	}
	if after == 0 {
		after = DefaultAfter
	}
	if before < 0 || after < 0 {
		return nil, fmt.Errorf("response: a window from %v before to %v after the peak; both lengths are positive", before, after)
	}
	peak, err := h.Peak()
	if err != nil {
		return nil, err
	}
	return h.WindowAt(h.Time(peak), before, after), nil
}

// WindowAt is Window around a given time, in seconds, whether a peak stands
// there or not, and with the lengths as they are.
func (h *Impulse) WindowAt(t float64, before, after time.Duration) *Impulse {
	fs := float64(h.SampleRate)
	return h.cut(h.Zero+int(math.Round(t*fs)), int(math.Round(before.Seconds()*fs)), int(math.Round(after.Seconds()*fs)))
}

func (h *Impulse) cut(centre, before, after int) *Impulse {
	out := &Impulse{
		plans:      h.plans,
		Samples:    make([]float64, before+after+1),
		SampleRate: h.SampleRate,
		Zero:       h.Zero - (centre - before),
		Valid:      h.Valid.Intersect(Band{float64(h.SampleRate) / float64(after+1), math.Inf(1)}),
	}
	rise, fall := before/2, after/4
	for i := range out.Samples {
		if j := centre - before + i; j >= 0 && j < len(h.Samples) {
			out.Samples[i] = h.Samples[j] * taper(i, len(out.Samples), rise, fall)
		}
	}
	return out
}

// WindowPower is the mean square of the weights of a window of these lengths:
// raised cosines, which keep 3/8, over half of before and a quarter of after,
// and 1 between. White noise keeps this share of its power.
func WindowPower(before, after time.Duration) float64 {
	b, a := before.Seconds(), after.Seconds()
	return 1 - 5.0/8*(b/2+a/4)/(b+a)
}

// gate keeps the samples from start to stop, with a raised-cosine rise of
// 10 ms, in dst, and returns that up to stop; before start it is zero.
func (h *Impulse) gate(dst []float64, start, stop int) []float64 {
	start = max(0, start)
	clear(dst[:start])
	copy(dst[start:stop], h.Samples[start:stop])
	rise := min(h.SampleRate/100, stop-start)
	for i := range rise {
		dst[start+i] *= raisedCosine(i, rise)
	}
	return dst[:stop]
}

// taper is the weight of sample i of n: raised cosines over the first rise and
// the last fall samples, 1 between.
func taper(i, n, rise, fall int) float64 {
	return raisedCosine(i, rise) * raisedCosine(n-1-i, fall)
}

// raisedCosine is the weight of sample i of a rise over so many; 1 after it.
func raisedCosine(i, rise int) float64 {
	if i >= rise {
		return 1
	}
	return 0.5 - 0.5*math.Cos(math.Pi*(float64(i)+0.5)/float64(rise))
}

// Transfer is the Fourier transform of the response: its transfer function on
// bins at most half a hertz apart, phase counted from time zero. The bins are
// finer than the window resolves, so that what is read between two of them, and
// at the ends of the valid band, is the spectrum.
func (h *Impulse) Transfer() *Transfer {
	return h.TransferN(fft.FastLen(max(len(h.Samples), 2*h.SampleRate)))
}

// TransferN is Transfer on the bins of a transform of n points; more points
// than samples interpolate between the bins. It panics if there are fewer.
func (h *Impulse) TransferN(n int) *Transfer { return h.TransferAbout(0, n) }

// TransferAbout is TransferN with the phase counted from t seconds after time
// zero: TransferN(n).Delayed(-t) in one step.
func (h *Impulse) TransferAbout(t float64, n int) *Transfer {
	plan := h.plans.Plan(n)
	out := &Transfer{
		Bins:       plan.Forward(nil, h.Samples),
		SampleRate: h.SampleRate,
		Len:        plan.Len(),
		Valid:      h.Valid,
	}
	out.delay(float64(-h.Zero)/float64(h.SampleRate) - t)
	return out
}
