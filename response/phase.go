package response

import (
	"math"
	"math/cmplx"

	"example.com/earnest/internal/fft"
)

// Phase is arg H in radians, −π to π, at the frequencies of Frequencies.
func (t *Transfer) Phase() []float64 {
	first, end := t.validBins()
	phase := make([]float64, end-first)
	for i := range phase {
		phase[i] = cmplx.Phase(t.Bins[first+i])
	}
	return phase
}

// UnwrappedPhase is the phase in radians without its jumps of 2π: each bin
// lies within π of the one below. It can be trusted where the delay is less
// than half the transform's length, so take the bulk delay out first (Delayed).
func (t *Transfer) UnwrappedPhase() []float64 {
	phase := t.Phase()
	for i := 1; i < len(phase); i++ {
		if step := phase[i] - phase[i-1]; !math.IsNaN(step) {
			phase[i] -= 2 * math.Pi * math.Round(step/(2*math.Pi))
		}
	}
	return phase
}

// GroupDelay is −dφ/dω in seconds at the frequencies of Frequencies, by the
// difference of phase across two bins, one at the ends. A delay of more than a
// quarter of the transform's length is too much for it: take the bulk delay
// out first (Delayed).
func (t *Transfer) GroupDelay() []float64 {
	first, end := t.validBins()
	delay := make([]float64, end-first)
	if len(delay) < 2 {
		for i := range delay {
			delay[i] = math.NaN()
		}
		return delay
	}
	bin := 2 * math.Pi * float64(t.SampleRate) / float64(t.Len)
	for i := range delay {
		low, high := max(first, first+i-1), min(end-1, first+i+1)
		turn := cmplx.Phase(t.Bins[high] * cmplx.Conj(t.Bins[low]))
		delay[i] = -turn / (bin * float64(high-low))
	}
	return delay
}

// MinimumPhase is the phase in radians, at the frequencies of Frequencies,
// that a minimum-phase system of the same magnitude has: the Hilbert transform
// of the log magnitude, by folding the real cepstrum (Oppenheim & Schafer,
// Discrete-Time Signal Processing, ch. 12; from memory). The whole axis enters
// that transform and the magnitude is known over the valid band only; beyond
// it the level at each end is held, so the answer is a little off within an
// octave or so of an end where the response is still sloping there.
func (t *Transfer) MinimumPhase() []float64 {
	first, end := t.validBins()
	if end == first {
		return nil
	}
	logs := t.logMagnitude(first, end)
	plan := fft.NewPlan(t.Len)
	cepstrum := plan.Inverse(nil, logs)
	for i := 1; i < len(cepstrum); i++ {
		switch {
		case 2*i < len(cepstrum):
			cepstrum[i] *= 2
		case 2*i > len(cepstrum):
			cepstrum[i] = 0
		}
	}
	folded := plan.Forward(logs, cepstrum)
	phase := make([]float64, end-first)
	for i := range phase {
		phase[i] = imag(folded[first+i])
	}
	return phase
}

// logMagnitude is ln|H| at every bin. What is not known, and what lies outside
// the bins from first to before end, has the value of the nearest bin below
// that is known, and before the first of these that bin's.
func (t *Transfer) logMagnitude(first, end int) []complex128 {
	logs := make([]complex128, len(t.Bins))
	known := func(k int) (float64, bool) {
		v := math.Log(cmplx.Abs(t.Bins[k]))
		return v, !math.IsInf(v, 0) && !math.IsNaN(v)
	}
	last := math.NaN()
	for k := first; k < end && math.IsNaN(last); k++ {
		if v, ok := known(k); ok {
			last = v
		}
	}
	for k := range logs {
		if k >= first && k < end {
			if v, ok := known(k); ok {
				last = v
			}
		}
		logs[k] = complex(last, 0)
	}
	return logs
}

// ExcessPhase is the unwrapped phase less the minimum phase, in radians, at
// the frequencies of Frequencies: what delay, all-pass behaviour and reversed
// polarity (π) add. A multiple of 2π is taken off so that it begins within π of
// zero.
func (t *Transfer) ExcessPhase() []float64 {
	excess := t.UnwrappedPhase()
	for i, p := range t.MinimumPhase() {
		excess[i] -= p
	}
	if len(excess) > 0 {
		turns := 2 * math.Pi * math.Round(excess[0]/(2*math.Pi))
		for i := range excess {
			excess[i] -= turns
		}
	}
	return excess
}
