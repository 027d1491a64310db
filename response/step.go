package response

// Step is the response to a step from 0 to full scale at time zero: the running
// sum of the impulse response,
//
//	s[i] = Σ h[k]   over k ≤ i
//
// sample i at the time Time(i), 1 where a gain of 1 settles. It goes into dst,
// which is made when nil, and panics if that has another length than the
// samples.
//
// What is known is the step through the valid band only. Without the
// frequencies above it, it takes about 1/(2 High) seconds to rise and
// overshoots by 9 % of its height (Wilbraham, Gibbs). What the frequencies below it would do is not
// known, and they decide where the step goes later than about 1/(2 Low) seconds:
// deconvolution fades them out softly, so that the step of a wire stays up for
// longer, and noise there is summed into a slow drift. Through an ideal band
// without phase, which ends sharply at both edges, the step is
//
//	s(t) = (Si(2π High t) − Si(2π Low t)) / π,   Si(x) = ∫ sin(u)/u du from 0 to x
//
// which leaps from −½ to +½ and comes back to 0 in about 1/(2 Low) seconds, on
// both sides alike. Window the response first, or harmonics and noise that
// stand before the peak are summed as well.
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
