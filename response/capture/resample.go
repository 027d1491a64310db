package capture

import (
	"math"
	"runtime"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/interpolate"
	"example.com/earnest/internal/parallel"
)

const (
	// ResampledShare is the part of half the lower sample rate up to which Resampled is accurate.
	ResampledShare = 0.92
	// ResampledRipple is the largest error of the magnitude in dB up to there.
	ResampledRipple = 0.002
)

// Resampled returns the recording at another sample rate in Hz, interpolated by a windowed sinc. Up
// to ResampledShare of half the lower rate the magnitude is right to ResampledRipple dB. Above, it
// falls; if the new rate is the lower one, frequencies above half of it are mirrored into that
// range. Resample the recording at the lower rate to the higher one, to compare the two. FromRate
// of the result is the former rate; its Format is not stated.
func (r *Recording) Resampled(rate int) *Recording {
	out := *r
	out.SampleRate, out.FromRate, out.Format, out.Channels = rate, r.SampleRate, Format{}, nil
	step := float64(r.SampleRate) / float64(rate)
	for _, x := range r.Channels {
		if step > 1 {
			x = lowPass(x, 1/step)
		}
		out.Channels = append(out.Channels, Clock{Drift: 1e6 * (step - 1)}.Correct(x, 0, int(float64(len(x))/step)))
	}
	return &out
}

// lowPass passes frequencies below a share of half the sample rate. It is a sinc under a Kaiser
// window whose slope reaches from ResampledShare of that to as much beyond it.
func lowPass(x []float64, share float64) []float64 {
	half := int(math.Ceil(resampleHalf / share))
	taps := make([]float64, 2*half+1)
	for i := range taps {
		at := float64(i-half) * share
		taps[i] = share * interpolate.Sinc(at) * interpolate.Kaiser(float64(i-half)/float64(half+1), resampleBeta)
	}
	out := make([]float64, len(x))
	pieces := runtime.GOMAXPROCS(0)
	parallel.Do(pieces, func(p int) {
		for i := len(x) * p / pieces; i < len(x)*(p+1)/pieces; i++ {
			from, to := max(0, i-half), min(len(x), i+half+1)
			out[i] = floats.Dot(x[from:to], taps[from-i+half:to-i+half])
		}
	})
	return out
}
