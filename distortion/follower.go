package distortion

import (
	"math"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/taper"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// follower is a high-pass filter that follows a sweep: at any moment it passes frequencies above
// `above` times that of the sweep.
type follower struct {
	sweep        *sweep.Sweep
	delay        float64 // of the recording, seconds
	above        float64
	maxFrequency float64 // Hz
}

// The cut-off, in orders above the last one removed: the filter passes nothing below cutNone and
// everything above cutAll, and a brick wall at cutWall would pass the same noise power (a raised
// cosine has a mean square of 3/8).
const (
	cutNone = 0.4
	cutAll  = 0.9
	cutWall = cutAll - 3.0/8*(cutAll-cutNone)
)

// fadeTop is the part of maxFrequency over which the filter closes below it.
const fadeTop = 0.05

// apply filters a recording.
func (h follower) apply(recording []float64) []float64 {
	s, fs := h.sweep, float64(h.sweep.SampleRate())
	// In the deconvolved recording, the highest frequency comes at most this much early.
	early := int(max(0, math.Ceil(s.TimeConstant()*math.Log(h.maxFrequency/s.Start())*fs)))
	n := fft.FastLen(early + len(recording))
	plan := fft.NewPlan(n)
	inverse := s.InverseSpectrum(nil, n)
	samples := make([]float64, n)
	copy(samples[early:], recording)
	spectrum := plan.Forward(nil, samples)
	for k := range spectrum {
		spectrum[k] *= inverse[k] * complex(h.passes(plan.Frequency(k, fs)), 0)
	}
	samples = plan.Inverse(samples, spectrum)
	rest := 0 // the first sample that gets no weight
	for ; rest < n; rest++ {
		w := h.weight(float64(rest-early)/fs - h.delay)
		if w == 0 {
			break
		}
		samples[rest] *= w
	}
	clear(samples[rest:])
	spectrum = plan.Forward(spectrum, samples)
	for k := range spectrum {
		if h.passes(plan.Frequency(k, fs)) == 0 {
			spectrum[k] = 0 // the cut in time has spread signal there
			continue
		}
		spectrum[k] /= inverse[k]
	}
	return plan.Inverse(samples, spectrum)[early : early+len(recording)]
}

// passes returns the gain at f Hz: 0 below the lowest frequency of interest and above maxFrequency.
// Its edges are raised cosines, since a steep one would ring into the cut.
func (h follower) passes(f float64) float64 {
	lowest, top := h.sweep.Start()*h.above, (1-fadeTop)*h.maxFrequency
	switch {
	case f <= lowest/2 || f >= h.maxFrequency:
		return 0
	case f >= lowest && f <= top:
		return 1
	}
	return taper.Rise(1-math.Log2(lowest/f)) * taper.Rise((h.maxFrequency-f)/(h.maxFrequency-top))
}

// weight returns the gain at t seconds of the deconvolved recording, where exp(−t/L) is the
// frequency relative to the sweep's.
func (h follower) weight(t float64) float64 {
	return taper.Rise((math.Exp(-t/h.sweep.TimeConstant()) - h.above - cutNone) / (cutAll - cutNone))
}

// noisePower returns the power of the noise that is passed when the sweep is at f Hz.
func (h follower) noisePower(n *response.Noise, f float64) float64 {
	return n.Power(response.Band{Low: (h.above + cutWall) * f, High: h.maxFrequency * (1 - 5.0/8*fadeTop)})
}
