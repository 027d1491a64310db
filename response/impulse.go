package response

import (
	"time"

	"example.com/earnest/internal/fft"
	"example.com/earnest/sweep"
)

// Impulse is an impulse response.
type Impulse struct {
	// Samples holds the response; index i is at (i − Zero)/SampleRate seconds.
	Samples []float64
	// SampleRate is in Hz.
	SampleRate int
	// Zero is the index of time zero; it may lie outside Samples.
	Zero int
	// Valid is the band that was excited.
	Valid Band

	sweep  *sweep.Sweep // by which it was deconvolved; nil if not known, or none
	by     *divisor     // its divisor; nil if not known
	plans  *fft.Cache   // of the deconvolver; may be nil
	window float64      // sum of the squared weights of the window; 0 for a response without a window
	// before and after are the parts of the window about the peak; 0 for a response without a
	// window.
	before, after time.Duration
	noise         *Noise // of the measurement; nil if not known
	cause         Cause  // of that noise
}

// Time returns the time in seconds of sample i.
func (h *Impulse) Time(i int) float64 { return float64(i-h.Zero) / float64(h.SampleRate) }

// Transfer returns the transfer function: the Fourier transform of the response, on bins at most
// half a hertz apart, phase counted from time zero. The bins are finer than the resolution of the
// window, so that a value between two of them, or at the ends of the valid band, is the spectrum
// there.
func (h *Impulse) Transfer() *Transfer {
	return h.TransferAbout(0, fft.FastLen(max(len(h.Samples), 2*h.SampleRate)))
}

// TransferAbout is like Transfer, on the bins of a transform of n points and with the phase counted
// from t seconds after time zero. More points than samples interpolate between the bins; fewer
// panic.
func (h *Impulse) TransferAbout(t float64, n int) *Transfer {
	plan := h.plans.Plan(n)
	out := &Transfer{
		Bins:       plan.Forward(nil, h.Samples),
		SampleRate: h.SampleRate,
		Len:        plan.Len(),
		Valid:      h.Valid,
		plans:      h.plans,
	}
	h.keepShares(out, n)
	out.delay(float64(-h.Zero)/float64(h.SampleRate) - t)
	return out
}

// Step returns the response to a step from 0 to full scale at time zero: the running sum of the
// impulse response,
//
//	s[i] = Σ h[k]  over k ≤ i
//
// with sample i at the time Time(i). It settles at 1 for a gain of 1. Step writes to dst, or to a
// new slice if dst is nil. It panics if dst and the samples differ in length.
//
// The step is known through the valid band only. Without the frequencies above the band, it takes
// about 1/(2 High) seconds to rise and overshoots by 9 % of its height (Wilbraham, Gibbs). The
// frequencies below the band, which are not known either, decide its course after about 1/(2 Low)
// seconds. Deconvolution fades them out softly, so that the step of a wire stays up for longer, and
// noise there is summed into a slow drift. Through an ideal band without phase, which ends sharply
// at both edges, the step is
//
//	s(t) = (Si(2π High t) − Si(2π Low t)) / π,  Si(x) = ∫ sin(u)/u du from 0 to x
//
// which jumps from −½ to +½ and comes back to 0 in about 1/(2 Low) seconds, on both sides alike.
// Window the response first, or harmonics and noise before the peak are summed as well.
func (h *Impulse) Step(dst []float64) []float64 {
	if dst == nil {
		dst = make([]float64, len(h.Samples))
	}
	if len(dst) != len(h.Samples) {
		panic("response: a step response of another length than the impulse response")
	}
	var sum float64
	for i, v := range h.Samples {
		sum += v
		dst[i] = sum
	}
	return dst
}
