package response

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
)

// ErrNoPeak means that an impulse response has no prominent peak: the recording does not hold the
// sweep by which it was deconvolved.
var ErrNoPeak = errors.New("the deconvolved peak is not a peak")

// minProminence is the least level in dB of the peak of a deconvolved sweep above the loudest
// stretch away from it. Measured on 20 Hz–20 kHz sweeps of 3 to 8 s: recordings without a sweep
// (noise of any colour, tones) give at most 14 dB, the sweep reversed 9, a sweep of another band or
// a linear one up to 19, one longer or shorter by 5 % or more up to 24 (at 3 s, 34), a click 24.
// The sweep gives 150 dB without noise, and 42 to 46 if it is clipped to a half or a twentieth. In
// 6 s it gives 56 dB in white noise 10 dB below it, 46 in noise as strong as itself and 36 in noise
// 10 dB above it; noise of low frequencies costs 8 dB more, a device that falls above 10 kHz 5 dB.
// A clock that is 1 % off still gives 60.
const minProminence = 24

// stretch is the length in seconds of the stretches with which a peak is compared, and their least
// distance from the peak.
const stretch = 0.05

// prominence returns the level in dB of a peak of this height above the rms of the loudest 50 ms
// elsewhere. Elsewhere begins 50 ms away from the peak, or two periods of the lowest frequency of
// the valid band if that is more, since a response that begins at 20 Hz rings at 20 Hz. It is NaN
// for a response that is too short for that.
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
	return 20*math.Log10(height) - 10*math.Log10(loudest) // +Inf if the rest is silent
}

// largest returns the index and the height of the sample of the largest magnitude. The height is
// NaN if a sample is not a number.
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

// peak returns the index of the sample of the largest magnitude. The error is ErrNoPeak if that
// sample does not stand at least 24 dB above the rms of the loudest 50 ms elsewhere, or if the
// response is empty.
func (h *Impulse) peak() (int, error) {
	peak, height := h.largest()
	p := h.prominence(peak, height)
	switch {
	case !(height > 0):
		return 0, fmt.Errorf("response: %w: the response is empty", ErrNoPeak)
	case p < minProminence:
		return 0, fmt.Errorf("response: %w: it stands %.0f dB above the rest, and a sweep's at least %d dB; "+
			"check that the recording is of this sweep, at its speed and sample rate, and not lost in noise",
			ErrNoPeak, p, minProminence)
	}
	return peak, nil // a response too short for a comparison has its peak
}

// Delay returns the time in seconds from time zero to the peak of the magnitude, to a fraction of a
// sample: the maximum of the band-limited signal through the samples, within one sample of the
// largest.
func (h *Impulse) Delay() (float64, error) {
	peak, err := h.peak()
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

// between returns the value at a fractional index by sinc interpolation under a Hann window of 64
// samples.
func (h *Impulse) between(x float64) float64 {
	const half = 32
	var sum float64
	for i := max(0, int(math.Ceil(x-half))); i <= min(len(h.Samples)-1, int(math.Floor(x+half))); i++ {
		u := x - float64(i)
		w := 0.5 + 0.5*math.Cos(math.Pi*u/half)
		if u != 0 {
			w *= math.Sin(math.Pi*u) / (math.Pi * u)
		}
		sum += w * h.Samples[i]
	}
	return sum
}

// loudestPower returns the largest mean square of a whole stretch of length samples, −Inf if there
// is no whole stretch.
func loudestPower(x []float64, length int) float64 {
	loudest := math.Inf(-1)
	for ; len(x) >= length && length > 0; x = x[length:] {
		loudest = max(loudest, floats.Dot(x[:length], x[:length])/float64(length))
	}
	return loudest
}
