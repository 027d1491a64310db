package response

import (
	"fmt"
	"math"
	"time"

	"example.com/earnest/internal/duration"
	"example.com/earnest/internal/taper"
	"example.com/earnest/sweep"
)

// The lengths of a window before and after the peak if they are given as 0. A response known down
// to 20 Hz only rings at 20 Hz on both sides of its peak, so the part before it matters too.
const (
	DefaultBefore = 200 * time.Millisecond
	DefaultAfter  = 500 * time.Millisecond
)

// clearOfSecond is the largest part of the way back to the second harmonic that belongs to the
// linear response.
const clearOfSecond = 0.4

// longestWindow bounds each side of a window, so that a slip in a unit does not ask for gigabytes.
const longestWindow = time.Minute

// checkWindow returns an error for impossible lengths, and for a response without a sample rate.
func (h *Impulse) checkWindow(before, after time.Duration) error {
	switch {
	case h.SampleRate < 1:
		return fmt.Errorf("response: an impulse response at %d Hz cannot be cut; set its sample rate", h.SampleRate)
	case before < 0 || after < 0:
		return fmt.Errorf("response: a window from %v before to %v after the peak; give two lengths above zero",
			before, after)
	case before > longestWindow || after > longestWindow:
		return fmt.Errorf("response: a window from %v before to %v after the peak; each part lasts at most %v",
			before, after, longestWindow)
	}
	return nil
}

// Window cuts out the response from before its peak to after it. Lengths of 0 mean DefaultBefore
// and DefaultAfter; for a response from a Deconvolver, before is then at most 0.4 of the way to the
// second harmonic. The first half of the part before the peak and the last quarter of the part
// after it are raised-cosine tapers; outside the samples the response is zero. Time zero does not
// change. The valid band begins at the frequency with four periods in the part after the peak. A
// resonance of Q 8 there still rings at a fifth of its height at the end, and its peak comes out 2
// dB too low; after InNoise the transfer function states such errors. The result has its own
// samples and remembers its window (see Floor).
//
// Errors: ErrNoPeak if no peak stands out; lengths below zero or above a minute.
func (h *Impulse) Window(before, after time.Duration) (*Impulse, error) {
	if err := h.checkWindow(before, after); err != nil {
		return nil, err
	}
	peak, err := h.peak()
	if err != nil {
		return nil, err
	}
	return h.WindowAt(h.Time(peak), before, after), nil
}

// WindowAt is like Window but around a given time, in seconds, whether there is a peak or not. It
// panics for a time that is not finite, and for lengths for which Window returns an error.
func (h *Impulse) WindowAt(t float64, before, after time.Duration) *Impulse {
	if err := h.checkWindow(before, after); err != nil {
		panic(err.Error())
	}
	if math.IsNaN(t) || math.IsInf(t, 0) {
		panic(fmt.Sprintf("response: a window around %v s", t))
	}
	before, after = defaultWindow(h.sweep, before, after)
	centre := h.Zero + int(math.Round(t*float64(h.SampleRate)))
	return h.cut(centre, before, after)
}

// halved returns the response as cut out by a window of half the length, which lies within the part
// that the window itself does not taper.
func (h *Impulse) halved() *Impulse {
	return h.cut(duration.Samples(h.before, h.SampleRate), h.before/2, h.after/2)
}

// periods is the number of periods of the lowest frequency of the valid band in the part of a
// window after the peak. A resonance falls to exp(−π periods/Q) of its height in that time.
const periods = 4

// cut cuts out a response around a sample.
func (h *Impulse) cut(centre int, b, a time.Duration) *Impulse {
	before, after := duration.Samples(b, h.SampleRate), duration.Samples(a, h.SampleRate)
	out := &Impulse{
		noise:      h.noise,
		cause:      h.cause,
		before:     b,
		after:      a,
		window:     (b + a).Seconds() * float64(h.SampleRate) * taper.WindowPower(b, a),
		sweep:      h.sweep,
		by:         h.by,
		plans:      h.plans,
		Samples:    make([]float64, before+after+1),
		SampleRate: h.SampleRate,
		Zero:       h.Zero - (centre - before),
		Valid:      h.Valid.Intersect(Band{periods * float64(h.SampleRate) / float64(after+1), math.Inf(1)}),
	}
	if h.window > 0 { // no weight is above 1, so a second window passes no more than the first
		out.window = min(out.window, h.window)
	}
	rise, fall := before/2, after/4
	for i := range out.Samples {
		if j := centre - before + i; j >= 0 && j < len(h.Samples) {
			out.Samples[i] = h.Samples[j] * taper.Rise((float64(i)+0.5)/float64(rise)) * taper.Rise(
				(float64(before+after-i)+0.5)/float64(fall))
		}
	}
	return out
}

// gate writes the samples from start to stop to dst, with a raised-cosine rise of 10 ms and zeros
// before start, and returns dst up to stop.
func (h *Impulse) gate(dst []float64, start, stop int) []float64 {
	start = max(0, start)
	clear(dst[:start])
	copy(dst[start:stop], h.Samples[start:stop])
	rise := min(h.SampleRate/100, stop-start)
	for i := range rise {
		dst[start+i] *= taper.Rise((float64(i) + 0.5) / float64(rise))
	}
	return dst[:stop]
}

// defaultWindow replaces lengths of 0 by the defaults, DefaultBefore and DefaultAfter. Before the
// peak of a response deconvolved by s it is at most 0.4 of the way to the second harmonic, which is
// nearer in a short sweep. s may be nil.
func defaultWindow(s *sweep.Sweep, before, after time.Duration) (_, _ time.Duration) {
	if before == 0 {
		before = DefaultBefore
		if s != nil {
			before = min(before, duration.Of(clearOfSecond*s.HarmonicAdvance(2)))
		}
	}
	if after == 0 {
		after = DefaultAfter
	}
	return before, after
}
